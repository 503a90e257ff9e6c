from django.urls import include, path

from incidents.admin import office

urlpatterns = [
    path("", include("incidents.urls")),
    path("office/", office.urls),
]

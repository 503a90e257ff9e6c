"""The site itself, and what all its pages have in common."""

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final, cast

from django.contrib import admin
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.http import url_has_allowed_host_and_scheme

from incidents.models import Person
from incidents.views.access import zone_of_agency
from incidents.views.signing_in import SignOut

if TYPE_CHECKING:
    _Rows = admin.ModelAdmin[Any]
else:  # Django's own class takes no type at run time
    _Rows = admin.ModelAdmin

# Pages of Django's that nothing here needs.
_LEFT_OUT: Final = frozenset({"password_change_done", "autocomplete", "view_on_site"})


class Office(admin.AdminSite):
    """The one site; signing in and out go by the worksheet's own pages."""

    site_title = "Hazmat incident worksheet"
    site_header = "People and agency"
    index_title = "People and agency"
    enable_nav_sidebar = False

    def has_permission(self, request: HttpRequest) -> bool:
        person = cast(Person, request.user)
        return person.is_active and _runs_something(person)

    def get_urls(self) -> list[Any]:
        return [
            one
            for one in super().get_urls()
            if getattr(one, "name", "") not in _LEFT_OUT
        ]

    def admin_view(self, view: Callable[..., Any], cacheable: bool = False) -> Any:
        """Times are those of the agency, on pages that are rendered later, too."""
        guarded = super().admin_view(view, cacheable)

        def in_zone(request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
            if not self.has_permission(request):
                raise PermissionDenied("You do not run your agency.")
            with timezone.override(zone_of_agency(cast(Person, request.user).agency)):
                response = guarded(request, *args, **kwargs)
                if isinstance(response, TemplateResponse):
                    response.render()
                return response

        return in_zone

    @method_decorator(login_not_required)
    def login(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:
        """Django's admin sends people here; there is one page to sign in for all."""
        wanted = request.GET.get("next", "")
        here = url_has_allowed_host_and_scheme(wanted, {request.get_host()})
        after = wanted if here else reverse("admin:index")
        if request.user.is_authenticated:
            return redirect(after)
        return redirect_to_login(after, reverse("incidents:sign-in"))

    def logout(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:  # type: ignore[override]
        return SignOut.as_view()(request)

    def password_change(self, request: HttpRequest, extra_context: Any = None) -> Any:
        return redirect("incidents:password")


office = Office(name="admin")


def _runs_something(person: Person) -> bool:
    return person.is_superuser or (
        person.is_agency_owner and person.agency_id is not None
    )


def said(value: bool) -> str:
    """In words: Django's own marks are green and red, which mean verdicts here."""
    return "yes" if value else "no"


def when_in_words(at: datetime) -> str:
    """As on all pages: day, then 24 hours, in the agency's zone."""
    return f"{timezone.localtime(at):%Y-%m-%d %H:%M:%S}"


def everywhere(request: HttpRequest) -> bool:
    return cast(Person, request.user).is_superuser


class OfOwnAgency(_Rows):
    """Rows of the agency that the person runs; nothing is deleted and nothing added."""

    agency_field = "agency"
    title = ""
    actions = None
    list_per_page = 50

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        rows = super().get_queryset(request)
        if everywhere(request):
            return rows
        return rows.filter(**{self.agency_field: cast(Person, request.user).agency_id})

    def changelist_view(self, request: HttpRequest, extra_context: Any = None) -> Any:
        return super().changelist_view(request, {"title": self.title})

    def render_change_form(
        self, request: HttpRequest, context: dict[str, Any], *args: Any, **kwargs: Any
    ) -> Any:
        context |= {"show_save_and_continue": False, "show_save_and_add_another": False}
        return super().render_change_form(request, context, *args, **kwargs)

    def has_module_permission(self, request: HttpRequest) -> bool:
        return office.has_permission(request)

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return office.has_permission(request)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

"""The agency's name and time zone, and who signed in."""

from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib import admin
from django.http import HttpRequest

from incidents.admin.site import OfOwnAgency, everywhere, office, when_in_words
from incidents.forms.fields import PlainText
from incidents.models import Agency, SignInRecord
from incidents.services import people

if TYPE_CHECKING:
    _AgencyForm = forms.ModelForm[Agency]
else:  # Django's own class takes no type at run time
    _AgencyForm = forms.ModelForm


class AgencyForm(_AgencyForm):
    name = PlainText(longest=200)

    class Meta:
        model = Agency
        fields = ("name", "time_zone")
        help_texts = {"time_zone": "As it is listed, such as America/Chicago."}


@admin.register(Agency, site=office)
class Agencies(OfOwnAgency):
    form = AgencyForm
    agency_field = "pk"
    title = "Agency"
    list_display = ("name", "time_zone")

    def has_add_permission(self, request: HttpRequest) -> bool:
        return everywhere(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return office.has_permission(request)

    def save_model(
        self, request: HttpRequest, obj: Agency, form: Any, change: bool
    ) -> None:
        people.save_agency(agency=obj)


@admin.register(SignInRecord, site=office)
class SignIns(OfOwnAgency):
    """To read only. Tries under a name that nobody has are of no agency."""

    title = "Who signed in, and who tried"
    list_display = ("when", "name", "outcome", "address", "by")
    list_display_links = None
    list_filter = ("outcome",)
    list_select_related = ("by",)
    search_fields = ("name",)
    date_hierarchy = "at"
    fields = readonly_fields = ("when", "name", "outcome", "address", "by")

    @admin.display(description="When", ordering="at")
    def when(self, record: SignInRecord) -> str:
        return when_in_words(record.at)

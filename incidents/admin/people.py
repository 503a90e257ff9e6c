"""The agency's people: added, given new passwords, let go; never deleted."""

from typing import TYPE_CHECKING, Any, Final, cast

from django import forms
from django.contrib import admin, messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import path

from incidents import selectors
from incidents.admin.site import OfOwnAgency, everywhere, office, said, when_in_words
from incidents.forms.fields import PlainText
from incidents.models import Person
from incidents.services import people, second_step
from incidents.views.signing_in import try_of

if TYPE_CHECKING:
    _PersonForm = forms.ModelForm[Person]
else:  # Django's own class takes no type at run time
    _PersonForm = forms.ModelForm

# Where an answer finds the password that its request made.
_PASSWORD: Final = "worksheet.password"


class PersonForm(_PersonForm):
    display_name = PlainText(
        longest=120, required=False, label="Name on pages and reports"
    )
    by: Person  # who fills it in

    class Meta:
        model = Person
        fields = ("username", "display_name", "agency", *people.MARKS)
        help_texts = {
            "username": "Letters, digits and @ . + - _ only. It stays as it is.",
            "is_active": "Take the mark away when someone leaves. Nobody is deleted.",
        }
        labels = {"is_active": "May sign in"}

    def clean_username(self) -> str:
        name: str = self.cleaned_data["username"]
        if Person.objects.filter(username__iexact=name).exists():
            raise ValidationError(f"There is a {name} already.")
        return name

    def clean(self) -> dict[str, Any] | None:
        cleaned = super().clean()
        for mark in ("is_active", "is_agency_owner"):
            here = self.instance.pk == self.by.pk and mark in self.changed_data
            if here and not self.cleaned_data[mark]:
                self.add_error(mark, "Someone else who runs the agency has to do that.")
        return cleaned


@admin.register(Person, site=office)
class People(OfOwnAgency):
    form = PersonForm
    title = "People"
    list_display = (
        "username",
        "display_name",
        "opens",
        "writes_sop",
        "reviews",
        "runs",
        "signs_in",
        "last_in",
    )
    search_fields = ("username", "display_name")
    ordering = ("username",)
    change_form_template = "admin/person_change.html"

    @admin.display(description="Last signed in", ordering="last_login")
    def last_in(self, person: Person) -> str:
        return when_in_words(person.last_login) if person.last_login else "never"

    @admin.display(description="Opens incidents", ordering="may_open")
    def opens(self, person: Person) -> str:
        return said(person.may_open)

    @admin.display(description="Writes the SOP", ordering="may_edit_sop")
    def writes_sop(self, person: Person) -> str:
        return said(person.may_edit_sop)

    @admin.display(description="Reviews", ordering="may_review")
    def reviews(self, person: Person) -> str:
        return said(person.may_review)

    @admin.display(description="Runs it", ordering="is_agency_owner")
    def runs(self, person: Person) -> str:
        return said(person.is_agency_owner)

    @admin.display(description="May sign in", ordering="is_active")
    def signs_in(self, person: Person) -> str:
        return said(person.is_active)

    def get_queryset(self, request: HttpRequest) -> QuerySet[Person]:
        rows = super().get_queryset(request)
        return rows if everywhere(request) else rows.filter(is_superuser=False)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return office.has_permission(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return office.has_permission(request)

    def get_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        fields = ["username", "display_name", "agency", *people.MARKS]
        if obj is None:
            fields.remove("is_active")
        if not everywhere(request):
            fields.remove("agency")
        return fields

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> list[str]:
        # The log names people by it; to move someone is to add them over there.
        return [] if obj is None else ["username", "agency"]

    def get_form(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        made = super().get_form(request, *args, **kwargs)
        return type("PersonForm", (made,), {"by": request.user})

    def save_model(
        self, request: HttpRequest, obj: Person, form: Any, change: bool
    ) -> None:
        """By the services, as from everywhere else."""
        by = cast(Person, request.user)
        if change:
            people.change_person(
                person=obj,
                by=by,
                attempt=try_of(request, obj.username),
                changes={name: form.cleaned_data[name] for name in form.changed_data},
            )
            self._warn_of_incidents(request, obj)
            return
        agency = form.cleaned_data["agency"] if everywhere(request) else by.agency
        if agency is None:
            raise PermissionDenied("A person needs an agency.")
        added, password = people.add_to_agency(
            agency=agency,
            username=obj.username,
            display_name=obj.display_name,
            may_open=obj.may_open,
            may_edit_sop=obj.may_edit_sop,
            may_review=obj.may_review,
            is_agency_owner=obj.is_agency_owner,
        )
        obj.pk = added.pk
        obj.agency = agency
        request.META[_PASSWORD] = password

    def _warn_of_incidents(self, request: HttpRequest, person: Person) -> None:
        if person.is_active:
            return
        for name in selectors.commanded_alone(person):
            self.message_user(
                request,
                f"Nobody commands “{name}” any more, which is open.",
                level=messages.WARNING,
            )

    # --- Pages of our own --------------------------------------------------------------

    def get_urls(self) -> list[Any]:
        own = [
            path(
                "<int:number>/new-password/",
                office.admin_view(self.new_password),
                name="person-new-password",
            ),
            path(
                "<int:number>/no-second-step/",
                office.admin_view(self.no_second_step),
                name="person-no-second-step",
            ),
        ]
        return own + super().get_urls()

    def response_add(
        self, request: HttpRequest, obj: Person, post_url_continue: Any = None
    ) -> HttpResponse:
        """Show the password in the answer itself; it is kept nowhere."""
        return self._password_page(request, obj, request.META[_PASSWORD])

    def new_password(self, request: HttpRequest, number: int) -> HttpResponse:
        """Give someone a password made at random; what they are signed in at ends."""
        person = self._person(request, number)
        if request.method != "POST":
            return self._page(request, "admin/person_new_password.html", person)
        attempt = try_of(request, person.username)
        password = people.give_new_password(
            person=person, attempt=attempt, by=cast(Person, request.user)
        )
        self.log_change(request, person, "New password")
        return self._password_page(request, person, password)

    def no_second_step(self, request: HttpRequest, number: int) -> HttpResponse:
        """Take the second step from someone who lost the authenticator."""
        person = self._person(request, number)
        if request.method != "POST":
            return self._page(request, "admin/person_no_second_step.html", person)
        attempt = try_of(request, person.username)
        second_step.remove(person, attempt, by=cast(Person, request.user))
        self.log_change(request, person, "Second step removed")
        return redirect("admin:incidents_person_change", person.pk)

    def _person(self, request: HttpRequest, number: int) -> Person:
        return get_object_or_404(self.get_queryset(request), pk=number)

    def _password_page(
        self, request: HttpRequest, person: Person, password: str
    ) -> HttpResponse:
        return self._page(
            request, "admin/person_password.html", person, password=password
        )

    def _page(
        self, request: HttpRequest, template: str, person: Person, **context: Any
    ) -> HttpResponse:
        context |= office.each_context(request) | {"person": person, "opts": self.opts}
        return TemplateResponse(request, template, context)

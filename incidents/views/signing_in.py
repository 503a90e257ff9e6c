"""In and out: name and password, the second step, and what is kept of both."""

from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib.auth import login, views
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from incidents.forms.account import CodeForm
from incidents.forms.fields import PlainForm
from incidents.models import Person, SignInRecord
from incidents.services import second_step, signing_in
from incidents.services.signing_in import HeldBackError, Try
from incidents.views.addresses import client_address
from screening.verdicts import CAUTION

Outcome = SignInRecord.Outcome
# Name and password were right; how long the code of the second step is waited for.
SECONDS_FOR_CODE = 300
_WAITING = "second_step"


def try_of(request: HttpRequest, name: str) -> Try:
    return Try(name=name, address=client_address(request), at=timezone.now())


class SignInForm(AuthenticationForm):
    """Name and password, with the words of the job."""

    use_required_attribute = False
    error_messages = {
        "invalid_login": "Name and password do not go together. Both tell capitals apart.",
        "inactive": "This person may no longer sign in.",
    }
    error_links = PlainForm.error_links
    held: HeldBackError | None = None

    def clean(self) -> dict[str, Any]:
        name = self.cleaned_data.get("username")
        if not name or not self.cleaned_data.get("password"):
            return super().clean()
        assert self.request is not None
        attempt = try_of(self.request, name)
        try:
            signing_in.refuse_if_held(attempt)
        except HeldBackError as held:
            self.held = held
            raise ValidationError(str(held), code="held") from held
        try:
            return super().clean()
        except ValidationError:
            signing_in.refused(attempt)
            raise


class SignIn(views.LoginView):
    template_name = "incident/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True
    extra_context = {"caution": CAUTION}

    def get_context_data(self, **kwargs):  # type: ignore[no-untyped-def]
        return super().get_context_data(**kwargs) | {"now": timezone.now()}

    def form_valid(self, form):  # type: ignore[no-untyped-def]
        person = form.get_user()
        if not second_step.is_on(person):
            enter(self.request, person, Outcome.SIGNED_IN)
            return redirect(self.get_success_url())
        self.request.session[_WAITING] = {
            "person": person.pk,
            "proof": person.get_session_auth_hash(),
            "since": timezone.now().timestamp(),
        }
        # Only a place on this site gets through `get_redirect_url`.
        given = urlencode({"next": self.get_redirect_url()})
        return redirect(f"{reverse('incidents:sign-in-code')}?{given}")

    def form_invalid(self, form):  # type: ignore[no-untyped-def]
        response = super().form_invalid(form)
        return refusal(response, form.held)


def refusal(response: HttpResponse, held: HeldBackError | None) -> HttpResponse:
    """The page with what is wrong: 422, or 429 with when to come back."""
    response.status_code = 429 if held else 422
    if held:
        response["Retry-After"] = str(held.seconds)
    return response


def enter(request: HttpRequest, person: Person, outcome: str) -> None:
    """Sign the person in, under a new session, and keep that."""
    request.session.pop(_WAITING, None)
    login(request, person, backend=settings.AUTHENTICATION_BACKENDS[0])
    attempt = try_of(request, person.username)
    # From here on by `config.middleware.renew_session_in_use`.
    request.session["renewed"] = attempt.at.timestamp()
    signing_in.keep(attempt, outcome, person)


@login_not_required
@never_cache
@require_http_methods(["GET", "POST"])
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """The second step, for who has one and has just given name and password."""
    if request.user.is_authenticated:
        return redirect("incidents:incident-list")
    person = _waiting(request)
    if person is None:
        return redirect("incidents:sign-in")
    form = CodeForm(request.POST if request.method == "POST" else None)
    held = None
    if form.is_bound and form.is_valid():
        attempt = try_of(request, person.username)
        typed = form.cleaned_data["code"]
        try:
            outcome = second_step.pass_second_step(person, typed, attempt)
        except HeldBackError as error:
            held, outcome = error, None
            form.add_error("code", str(error))
        if outcome:
            enter(request, person, outcome)
            return redirect(_next(request))
        if held is None:
            form.add_error("code", "This is not the code, or it was used already.")
    context = {"form": form, "now": timezone.now(), "caution": CAUTION}
    response = render(request, "account/sign_in_code.html", context)
    return refusal(response, held) if form.is_bound else response


def _waiting(request: HttpRequest) -> Person | None:
    """Who has given name and password, not long ago, and could still do it now."""
    waiting = request.session.get(_WAITING)
    if waiting is None:
        return None
    person = Person.objects.filter(pk=waiting["person"], is_active=True).first()
    if (
        person is None
        or timezone.now().timestamp() - waiting["since"] > SECONDS_FOR_CODE
        or waiting["proof"] != person.get_session_auth_hash()
    ):
        del request.session[_WAITING]
        return None
    return person


def _next(request: HttpRequest) -> str:
    wanted = request.GET.get("next", "")
    if url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    ):
        return wanted
    return reverse(settings.LOGIN_REDIRECT_URL)


class SignOut(views.LogoutView):
    def post(self, request, *args, **kwargs):  # type: ignore[no-untyped-def]
        person = request.user
        if person.is_authenticated:
            attempt = try_of(request, person.username)
            signing_in.keep(attempt, Outcome.SIGNED_OUT, person)
        return super().post(request, *args, **kwargs)

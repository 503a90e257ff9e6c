"""How someone signs in: their password, the second step, what was tried in their name."""

from django.contrib.auth import update_session_auth_hash
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods

from incidents.forms.account import NewPasswordForm, SecondStepForm, WithPassword
from incidents.models import SignInRecord
from incidents.services import people, second_step
from incidents.services.signing_in import HeldBackError
from incidents.views.access import HtmxRequest, page
from incidents.views.signing_in import refusal, try_of

SIGN_INS_SHOWN = 10
Outcome = SignInRecord.Outcome


@require_GET
def account(request: HtmxRequest) -> HttpResponse:
    return page(
        request,
        "account/account.html",
        second_step=second_step.is_on(request.user),
        codes_left=second_step.recovery_codes_left(request.user),
        sign_ins=request.user.sign_ins.select_related("by")[:SIGN_INS_SHOWN],
    )


@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def password(request: HtmxRequest) -> HttpResponse:
    """A new password; every other sign-in of the person ends with the old one."""
    person = request.user
    form = NewPasswordForm(
        person,
        request.POST if request.method == "POST" else None,
        attempt=try_of(request, person.username),
    )
    if form.is_bound and form.is_valid():
        people.change_password(
            person=person,
            password=form.cleaned_data["new_password1"],
            attempt=form.attempt,
        )
        update_session_auth_hash(request, person)
        return redirect("incidents:incident-list")
    response = page(
        request, "account/password.html", form=form, first=person.must_change_password
    )
    return refusal(response, form.held) if form.is_bound else response


@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def second_step_set_up(request: HtmxRequest) -> HttpResponse:
    """Show the secret as a QR code until a code proves that it arrived."""
    person = request.user
    form = SecondStepForm(
        person,
        request.POST if request.method == "POST" else None,
        attempt=try_of(request, person.username),
    )
    waiting = second_step.begin(person)
    if form.is_bound and form.is_valid():
        try:
            codes = second_step.confirm(person, form.cleaned_data["code"], form.attempt)
        except HeldBackError as held:
            form.held = held
            form.add_error("code", str(held))
        else:
            if codes is not None:
                return _recovery_codes(request, codes)
            form.add_error("code", "This is not the code. Is the device's clock right?")
    response = page(
        request,
        "account/second_step.html",
        form=form,
        picture=second_step.picture_of(waiting),
        secret=second_step.secret_of(waiting),
    )
    return refusal(response, form.held) if form.is_bound else response


@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def second_step_remove(request: HtmxRequest) -> HttpResponse:
    return _with_password(request, remove=True)


@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def recovery_codes(request: HtmxRequest) -> HttpResponse:
    return _with_password(request, remove=False)


def _with_password(request: HtmxRequest, *, remove: bool) -> HttpResponse:
    """Take the second step away, or make new recovery codes for it."""
    person = request.user
    if not second_step.is_on(person):
        return redirect("incidents:account")
    form = WithPassword(
        person,
        request.POST if request.method == "POST" else None,
        attempt=try_of(request, person.username),
    )
    if form.is_bound and form.is_valid():
        if not remove:
            return _recovery_codes(request, second_step.new_recovery_codes(person))
        second_step.remove(person, form.attempt)
        return redirect("incidents:account")
    response = page(request, "account/confirm.html", form=form, remove=remove)
    return refusal(response, form.held) if form.is_bound else response


def _recovery_codes(request: HtmxRequest, codes: list[str]) -> HttpResponse:
    """Shown once, in the answer itself: they are kept only as hashes."""
    return page(request, "account/recovery_codes.html", codes=codes)

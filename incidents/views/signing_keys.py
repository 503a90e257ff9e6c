"""The agency's signing key: made here or imported, replaced, taken back, and its root."""

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
)

from incidents import services
from incidents.forms.signing import ImportKeyForm, RevokeForm
from incidents.models import Agency, SigningKey
from incidents.services import permissions, signing_keys
from incidents.views.access import HtmxRequest, page, zone_of_agency


@require_GET
def keys(request: HtmxRequest) -> HttpResponse:
    """Every key of the agency, the live one first; retired ones stay."""
    from reports.keys import fingerprint

    agency = _agency(request)
    rows = agency.signing_keys.select_related("revocation")
    shown = [
        (
            key,
            fingerprint(bytes(key.root_certificate)),
            getattr(key, "revocation", None),
        )
        for key in rows
    ]
    return page(request, "keys/list.html", agency=agency, rows=shown)


@require_POST
def key_new(request: HtmxRequest) -> HttpResponse:
    """A new key made here in place of the live one; reports of before go on holding."""
    signing_keys.replace_key(agency=_agency(request), at=timezone.now())
    return redirect("incidents:keys")


@require_http_methods(["GET", "POST"])
def key_import(request: HtmxRequest) -> HttpResponse:
    """The agency's own key from a PKCS #12 file."""
    from reports.keys import SigningError

    agency = _agency(request)
    sent = request.method == "POST"
    form = ImportKeyForm(
        request.POST if sent else None, request.FILES if sent else None
    )
    if form.is_bound and form.is_valid():
        try:
            signing_keys.import_key(
                agency=agency,
                file=form.cleaned_data["file"].read(),
                file_passphrase=form.cleaned_data["passphrase"],
                at=timezone.now(),
            )
        except SigningError as error:
            form.add_error("file", str(error))
        else:
            return redirect("incidents:keys")
    status = 422 if form.is_bound else 200
    return page(request, "keys/import.html", status=status, form=form)


@require_http_methods(["GET", "POST"])
def key_revoke(request: HtmxRequest, number: int) -> HttpResponse:
    """From when on a key is not to be trusted, and what happened."""
    key = _key(request, number)
    form = RevokeForm(
        request.POST if request.method == "POST" else None,
        zone=zone_of_agency(key.agency),
        now=timezone.now(),
    )
    if form.is_bound and form.is_valid():
        try:
            signing_keys.revoke_key(
                key=key, person=request.user, at=timezone.now(), **form.cleaned_data
            )
        except services.EntryRefusedError as refused:
            first = refused.errors[0]
            form.add_error(first.pointer.strip("/"), f"Enter {first.expected}.")
        except services.RefusalError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("incidents:keys")
    status = 422 if form.is_bound else 200
    return page(request, "keys/revoke.html", status=status, form=form, key=key)


@require_GET
def root_file(request: HtmxRequest, number: int) -> HttpResponse:
    """The root's certificate, for whoever is to check reports elsewhere."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    key = _key(request, number)
    root = x509.load_der_x509_certificate(bytes(key.root_certificate))
    return _file(root.public_bytes(Encoding.PEM), "application/x-pem-file", "root.pem")


@require_GET
def list_file(request: HtmxRequest, number: int) -> HttpResponse:
    """What the root has taken back, as of now, for the same people."""
    listed = signing_keys.list_of_revoked(_key(request, number), timezone.now())
    if not listed:
        raise Http404("The list of this root is kept by whoever has the root's key.")
    return _file(listed, "application/pkix-crl", "revoked.crl")


def _agency(request: HtmxRequest) -> Agency:
    try:
        return permissions.require_key_keeper(request.user)
    except services.NotAllowedError as refusal:
        raise PermissionDenied(str(refusal)) from refusal


def _key(request: HtmxRequest, number: int) -> SigningKey:
    key = _agency(request).signing_keys.filter(pk=number).first()
    if key is None:
        raise Http404("No such key.")
    return key


def _file(data: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(data, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response

"""Time-stamps: asked of a server by HTTP, put under the signature, and never needed."""

import io
import socket
from datetime import UTC, datetime, timedelta

import pytest
from asn1crypto import cms, core, tsp
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko_certvalidator import ValidationContext

from reports import signing
from reports.revoking import revocation_list
from reports.signing import TimeStampServer
from reports.verifying import Known, verify_pdf
from tests.reports.authority import authority
from tests.reports.conftest import AGENCY, PASSPHRASE

NOW = datetime.now(UTC).replace(microsecond=0)


@pytest.fixture(scope="module")
def keys_of_now():
    at = NOW - timedelta(hours=1)
    root = signing.make_root(agency=AGENCY, passphrase=PASSPHRASE, at=at)
    signer = signing.issue_signer(
        root=root, agency=AGENCY, passphrase=PASSPHRASE, at=at
    )
    listed = revocation_list(root=root, passphrase=PASSPHRASE, revoked=[], at=NOW)
    return root, signer, listed


@pytest.fixture
def stamped(keys_of_now, draft):
    """Seal the draft now, with a server."""

    def sign(server, **changes):
        _, signer, listed = keys_of_now
        return signing.sign_pdf(
            draft.pdf,
            signer,
            passphrase=PASSPHRASE,
            at=NOW,
            head=draft.head,
            signed_for="Dana Whitlock",
            time_stamps=server,
            revocations=changes.get("revocations", listed),
        )

    return sign


@pytest.fixture(scope="module")
def clockmaker():
    with authority() as running:
        yield running


def server(clockmaker, trusted=True):
    roots = (clockmaker.root,) if trusted else ()
    return TimeStampServer(address=clockmaker.address, roots=roots, seconds=2)


def said(found):
    return {each.name: (each.holds, each.words) for each in found.checks}


def test_with_a_server_and_the_lists_the_level_is_b_lt(
    stamped, clockmaker, keys_of_now
):
    sealed = stamped(server(clockmaker))

    known = Known(roots=(keys_of_now[0].certificate,), time_roots=(clockmaker.root,))
    found = verify_pdf(sealed.pdf, known=known)
    assert not found.refused, said(found)
    assert (sealed.level, found.level) == ("B-LT", "B-LT")
    assert sealed.clock == "time-stamped by 127.0.0.1"
    assert said(found)["time-stamp"][0] is True
    assert found.stamp.by == "Invented time-stamp unit"
    assert abs(found.stamp.at - datetime.now(UTC)) < timedelta(hours=1)


def test_only_a_hash_goes_out_as_rfc_3161_has_it(stamped, clockmaker, draft):
    before = len(clockmaker.asked)

    stamped(server(clockmaker))

    assert len(clockmaker.asked) > before
    for kind, body in clockmaker.asked[before:]:
        question = tsp.TimeStampReq.load(body)
        assert kind == "application/timestamp-query"  # RFC 3161, 3.4
        assert question["version"].native == "v1"
        assert len(question["message_imprint"]["hashed_message"].native) == 32
        assert question["cert_req"].native is True
        assert len(body) < 100


def test_the_lists_stand_under_the_signature_and_nothing_comes_after(
    stamped, clockmaker
):
    reader = PdfFileReader(io.BytesIO(stamped(server(clockmaker)).pdf))

    assert len(reader.root["/DSS"]["/CRLs"]) == 2  # the agency's and the authority's
    assert len(reader.root["/DSS"]["/Certs"]) >= 3
    assert reader.embedded_signatures[0].evaluate_signature_coverage().name == (
        "ENTIRE_FILE"
    )


def test_another_library_call_trusts_the_time(stamped, clockmaker, keys_of_now):
    """pyHanko alone, with its own notion of trust, and nothing of ours."""
    from asn1crypto import x509

    sealed = stamped(server(clockmaker))
    context = ValidationContext(
        trust_roots=[
            x509.Certificate.load(keys_of_now[0].certificate),
            x509.Certificate.load(clockmaker.root),
        ],
        allow_fetching=False,
    )
    signature = PdfFileReader(io.BytesIO(sealed.pdf)).embedded_signatures[0]
    status = validate_pdf_signature(signature, context)

    assert status.bottom_line
    assert status.timestamp_validity.trusted


def test_without_the_authoritys_root_the_level_is_b_t(stamped, clockmaker, keys_of_now):
    sealed = stamped(server(clockmaker, trusted=False))

    found = verify_pdf(sealed.pdf, [keys_of_now[0].certificate])
    assert (sealed.level, found.level) == ("B-T", "B-T")
    holds, words = said(found)["time-stamp"]
    assert holds is None
    assert "not from a root that is trusted here for times" in words


def test_where_the_authority_gives_no_list_the_level_is_b_t(draft, stamped):
    with authority(with_list=False) as running:
        sealed = stamped(server(running))

    assert sealed.level == "B-T"


def closed_port():
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


def test_a_server_that_is_not_there_leaves_it_at_b_b_and_says_so(stamped, keys_of_now):
    nobody = TimeStampServer(address=f"http://127.0.0.1:{closed_port()}/", seconds=1)

    sealed = stamped(nobody)

    found = verify_pdf(sealed.pdf, [keys_of_now[0].certificate])
    assert (sealed.level, found.level, found.stamp) == ("B-B", "B-B", None)
    assert "signer's own clock" in sealed.clock
    assert "127.0.0.1 gave none" in sealed.clock
    assert not found.refused


def refusing(question):
    return tsp.TimeStampResp({"status": {"status": "rejection"}})


@pytest.mark.parametrize(
    "answer",
    [
        pytest.param(lambda question: b"no time-stamp", id="nonsense"),
        pytest.param(lambda question: b"", id="nothing"),
        pytest.param(lambda question: b"0" * 200_000, id="too much"),
        pytest.param(refusing, id="a refusal"),
    ],
)
def test_an_answer_that_is_none_leaves_it_at_b_b(stamped, answer, keys_of_now):
    with authority(answer=answer) as running:
        sealed = stamped(server(running))

    assert sealed.level == "B-B"
    assert not verify_pdf(sealed.pdf, [keys_of_now[0].certificate]).refused


def test_a_stamp_on_something_else_is_not_taken(stamped, clockmaker):
    def of_another(question):
        other = tsp.TimeStampReq(
            {
                "version": 1,
                "message_imprint": {
                    "hash_algorithm": {"algorithm": "sha256"},
                    "hashed_message": b"\0" * 32,
                },
                "cert_req": True,
                "nonce": question["nonce"].native,
            }
        )
        import urllib.request

        request = urllib.request.Request(
            clockmaker.address, other.dump(), {"Content-Type": "application/any"}
        )
        with urllib.request.urlopen(request) as reply:
            return reply.read()

    with authority(answer=of_another) as running:
        sealed = stamped(server(running))

    assert sealed.level == "B-B"
    assert "no time-stamp" in sealed.clock


def test_only_http_is_spoken(stamped):
    sealed = stamped(TimeStampServer(address="file:///etc/hostname"))

    assert sealed.level == "B-B"
    assert "http" in sealed.clock


def rewritten(pdf, change):
    """The same file with what `change` makes of the signature's container."""
    signature = PdfFileReader(io.BytesIO(pdf)).embedded_signatures[0]
    start, end = int(signature.byte_range[1]), int(signature.byte_range[2])
    container = cms.ContentInfo.load(bytes(signature.pkcs7_content), strict=False)
    signer = container["content"]["signer_infos"][0]
    beside = signer["unsigned_attrs"]
    change(beside)
    plain = [cms.CMSAttribute.load(each.dump(force=True)) for each in beside]
    signer["unsigned_attrs"] = cms.CMSAttributes(plain)
    made = container.dump(force=True).hex().encode()
    assert len(made) <= end - start - 2, "no room in the file for the test"
    return pdf[: start + 1] + made.ljust(end - start - 2, b"0") + pdf[end - 1 :]


def nothing(beside):
    pass


def a_second_value(beside):
    values = beside[0]["values"]
    beside[0]["values"] = [values[0], cms.ContentInfo({"content_type": "data"})]


def a_second_attribute(beside):
    beside.append(cms.CMSAttribute.load(beside[0].dump()))


def a_second_signer(beside):
    token = beside[0]["values"][0]["content"]
    token["signer_infos"].append(cms.SignerInfo.load(token["signer_infos"][0].dump()))


def something_unsigned(beside):
    signer = beside[0]["values"][0]["content"]["signer_infos"][0]
    signer["unsigned_attrs"] = [
        {"type": "1.3.6.1.4.1.99999.1", "values": [core.OctetString(b"hidden")]}
    ]


def test_a_container_that_was_only_written_anew_holds(stamped, clockmaker, keys_of_now):
    """What the next tests stand on."""
    sealed = stamped(server(clockmaker)).pdf

    found = checked_here(rewritten(sealed, nothing), clockmaker, keys_of_now)

    assert not found.refused, said(found)


def checked_here(pdf, clockmaker, keys_of_now):
    known = Known(roots=(keys_of_now[0].certificate,), time_roots=(clockmaker.root,))
    return verify_pdf(pdf, known=known)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (a_second_value, "holds 2 time-stamps and not one"),
        (a_second_attribute, "holds 2 time-stamps and not one"),
        (a_second_signer, "time-stamp has 2 signers and not one"),
        (something_unsigned, "carries what nobody signed"),
    ],
)
def test_more_than_one_time_stamp_is_refused_with_the_reason(
    stamped, clockmaker, keys_of_now, change, words
):
    """Only the first would be looked at; what stands beside it could be anything."""
    sealed = stamped(server(clockmaker)).pdf

    found = checked_here(rewritten(sealed, change), clockmaker, keys_of_now)

    assert any(words in str(each) for each in found.refused), said(found)


def test_a_changed_time_stamp_is_refused(stamped, clockmaker, keys_of_now):
    pdf = stamped(server(clockmaker)).pdf
    words = b"Invented time-stamp unit".hex().encode()

    at = pdf.lower().rindex(words)
    changed = pdf[:at] + b"4a" + pdf[at + 2 :]

    known = Known(roots=(keys_of_now[0].certificate,), time_roots=(clockmaker.root,))
    assert verify_pdf(changed, known=known).refused


def test_revoked_after_the_stamped_time_holds_without_a_doubt(
    stamped, clockmaker, keys_of_now
):
    root, signer, _ = keys_of_now
    later = revocation_list(
        root=root,
        passphrase=PASSPHRASE,
        revoked=[
            (signer.certificate, NOW + timedelta(days=1), "cessation_of_operation")
        ],
        at=NOW + timedelta(days=2),
    )

    known = Known(
        roots=(root.certificate,), time_roots=(clockmaker.root,), lists=(later,)
    )
    holds, words = said(verify_pdf(stamped(server(clockmaker)).pdf, known=known))[
        "revocation"
    ]

    assert holds is True
    assert words.endswith("after signing: this still holds.")

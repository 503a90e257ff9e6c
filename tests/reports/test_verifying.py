"""A sealed report is refused for any change at all, and the refusal says why."""

import hashlib
import io
import json
import random
import socket

import pytest
from pyhanko.pdf_utils import embed, generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from reports import archival, chain, signing
from reports.after_action import build
from reports.data import ChainHead
from reports.reading import page_texts
from reports.verifying import verify_pdf
from tests.reports import worksheets
from tests.reports.conftest import AGENCY, PASSPHRASE, SEALED_AT
from tests.reports.samples import empty, sample


@pytest.fixture
def verify(root, sealed, draft):
    """Check a file as one that was stored when it was sealed."""

    def check(pdf, *, roots=None, sha256=None, head=None):
        return verify_pdf(
            pdf,
            [root.certificate] if roots is None else roots,
            expected_sha256=sha256 or hashlib.sha256(pdf).hexdigest(),
            expected_head=head or draft.head,
        )

    return check


def outcome(verification):
    return {check.name: check.holds for check in verification.checks}


def refused(verification):
    return {check.name for check in verification.refused}


def test_a_sealed_report_holds_in_every_point(verify, sealed, draft, signer):
    found = verify(sealed)

    assert found.holds
    assert outcome(found) == {
        "signature": True,
        "trust": True,
        "revocation": True,
        "coverage": True,
        "no later change": True,
        "container": True,
        "stored SHA-256": True,
        "attachments": True,
        "printed head": True,
        "worksheet": True,
        "kept head": True,
    }
    assert found.printed_head == draft.head
    assert found.signed_at == SEALED_AT
    assert found.certificate_fingerprint == signer.fingerprint


def test_what_was_not_checked_does_not_count_as_holding(root, sealed):
    found = verify_pdf(sealed, [root.certificate])

    assert not found.holds
    assert not found.refused
    assert outcome(found)["stored SHA-256"] is None
    assert outcome(found)["kept head"] is None


def test_verifying_uses_no_network(verify, sealed, monkeypatch):
    def refuse(*args, **kwargs):
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)

    assert verify(sealed).holds


def flips(pdf, count):
    """The file with one bit turned over, at places that are the same every time."""
    chance = random.Random(20260304)
    container = pdf.index(b"/Contents <")
    places = chance.sample(range(len(pdf)), count)
    places += [container + chance.randrange(5000) for _ in range(count)]
    for place in places:
        changed = bytearray(pdf)
        changed[place] ^= 1 << chance.randrange(8)
        yield bytes(changed)


def test_any_flipped_bit_is_refused_even_without_the_stored_hash(root, sealed):
    for changed in flips(sealed, 50):
        assert verify_pdf(changed, [root.certificate]).refused


def test_any_flipped_bit_differs_from_the_stored_hash(verify, sealed):
    stored = hashlib.sha256(sealed).hexdigest()
    for changed in flips(sealed, 5):
        assert "stored SHA-256" in refused(verify(changed, sha256=stored))


def test_bytes_appended_are_refused_though_the_signature_is_intact(verify, sealed):
    found = verify(sealed + b"\n% a remark\n")

    assert outcome(found)["signature"] is True
    assert "coverage" in refused(found)


def test_a_title_changed_by_an_increment_is_refused(verify, sealed):
    writer = IncrementalPdfFileWriter(io.BytesIO(sealed))
    info = writer.trailer_view["/Info"]
    info["/Title"] = generic.pdf_string("Another incident")
    writer.update_container(info)
    out = io.BytesIO()
    writer.write(out)

    found = verify(out.getvalue())

    assert outcome(found)["signature"] is True
    assert outcome(found)["trust"] is True
    assert refused(found) >= {"coverage", "no later change"}


def test_an_attachment_added_afterwards_is_refused(verify, sealed):
    writer = IncrementalPdfFileWriter(io.BytesIO(sealed))
    data = embed.EmbeddedFileObject.from_file_data(writer, data=b"{}")
    spec = embed.FileSpec(
        file_spec_string="more.json", file_name="more.json", embedded_data=data
    )
    embed.embed_file(writer, spec)
    out = io.BytesIO()
    writer.write(out)

    assert "no later change" in refused(verify(out.getvalue()))


def test_a_foreign_root_is_refused(verify, sealed):
    foreign = signing.make_root(agency=AGENCY, passphrase=PASSPHRASE, at=SEALED_AT)

    assert "trust" in refused(verify(sealed, roots=[foreign.certificate]))
    assert "trust" in refused(verify(sealed, roots=[]))


def test_a_new_signer_under_the_same_root_holds_beside_the_old_one(
    verify, sealed, seal, root
):
    newer = signing.issue_signer(
        root=root, agency=AGENCY, passphrase=PASSPHRASE, at=SEALED_AT
    )

    assert verify(seal(signer=newer)).holds
    assert verify(sealed).holds


def test_a_certificate_that_has_run_out_since_still_holds(draft):
    long_ago = SEALED_AT.replace(year=2012)
    old = signing.make_root(agency=AGENCY, passphrase=PASSPHRASE, at=long_ago)
    key = signing.issue_signer(
        root=old, agency=AGENCY, passphrase=PASSPHRASE, at=long_ago
    )
    pdf = signing.sign_pdf(draft.pdf, key, passphrase=PASSPHRASE, at=long_ago).pdf

    assert not verify_pdf(pdf, [old.certificate]).refused


def test_a_second_signature_is_not_possible(sealed, seal):
    from pyhanko.sign.general import SigningError

    with pytest.raises(SigningError):
        seal(pdf=sealed)


@pytest.mark.parametrize("file", [b"", b"no pdf", b"%PDF-1.7\n%%EOF"])
def test_what_is_no_pdf_is_refused_with_a_reason(verify, file):
    found = verify(file)

    assert {"signature", "attachments"} <= refused(found)
    assert all(check.words for check in found.checks)


def test_an_unsigned_draft_is_refused(verify, draft):
    found = verify(draft.pdf)

    assert refused(found) == {"signature"}


def test_a_chain_that_ends_elsewhere_than_the_page_says_is_refused(verify, draft, seal):
    short = chain.chain_document(draft.records[:-1])
    sheet = json.dumps(draft.sheet).encode()

    found = verify(seal(attachments=archival.sources(sheet, short)))

    assert refused(found) == {"printed head"}


def test_a_worksheet_that_differs_from_its_records_is_refused(verify, draft, seal):
    changed = worksheets.document()
    changed["log"][1]["lel_percent"] = 5
    files = archival.sources(
        json.dumps(changed).encode(), chain.chain_document(draft.records)
    )

    found = verify(seal(attachments=files))

    assert refused(found) == {"worksheet"}
    assert "g1" in found.refused[0].words


def test_missing_sources_are_refused(verify, seal):
    assert "attachments" in refused(verify(seal(attachments=())))


def test_a_report_that_prints_no_head_is_refused(verify, seal):
    found = verify(seal(data=sample(head=None)))

    assert {"printed head", "kept head"} <= refused(found)


def test_a_head_that_somebody_wrote_is_not_taken_for_the_printed_one(
    verify, seal, draft
):
    words = f"The record\nChain head: record 1, SHA-256 {'0' * 64}"
    false = empty(incident=words, agency=words, head=draft.head, cautions=(words,))
    assert page_texts(build(false))[-1].count("Chain head: record") > 1

    found = verify(seal(data=false))

    assert found.printed_head == draft.head
    assert found.holds


def test_a_head_kept_elsewhere_must_be_the_printed_one(verify, sealed, draft):
    other = ChainHead(seq=draft.head.seq, sha256="1" * 64)

    assert refused(verify(sealed, head=other)) == {"kept head"}

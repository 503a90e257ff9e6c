"""A sealed report against pyHanko alone, and single bytes changed all over the file."""

import io
import random

import pytest
from asn1crypto import x509
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko_certvalidator import ValidationContext

from reports.quiet import quietly
from reports.verifying import verify_pdf
from tests.reports.conftest import SEALED_AT

OFFSETS = 200


def by_the_library(pdf, root):
    """What pyHanko says, with none of our code: True only for its own bottom line."""
    context = ValidationContext(
        trust_roots=[x509.Certificate.load(root)],
        allow_fetching=False,
        moment=SEALED_AT,
    )
    try:
        with quietly():
            signature = PdfFileReader(io.BytesIO(pdf)).embedded_signatures[0]
            status = validate_pdf_signature(signature, context)
        return bool(status.bottom_line)
    except Exception:  # it could not be read: it does not verify
        return False


def signed_parts(pdf):
    """The places that the signature covers (ISO 32000-1, 12.8.1: /ByteRange)."""
    signature = PdfFileReader(io.BytesIO(pdf)).embedded_signatures[0]
    first, length, second, rest = (int(each) for each in signature.byte_range)
    return range(first, first + length), range(second, second + rest)


def changed_at(pdf, place, chance):
    one = bytearray(pdf)
    one[place] = (one[place] + chance.randrange(1, 256)) % 256
    return bytes(one)


def test_a_sealed_report_verifies_with_the_library_alone(sealed, root):
    assert by_the_library(sealed, root.certificate)


def test_the_signature_covers_all_but_its_own_container(sealed):
    before, after = signed_parts(sealed)

    assert before.start == 0
    assert after.stop == len(sealed)
    between = sealed[before.stop : after.start]
    assert between[:1] == b"<"
    assert between[-1:] == b">"


def test_no_single_byte_changes_without_being_refused(sealed, root):
    """At 200 places: the library refuses it, or it lies outside what is signed and our
    own check reports it.
    """
    chance = random.Random(20260304)
    parts = signed_parts(sealed)
    outside = 0
    for place in chance.sample(range(len(sealed)), OFFSETS):
        changed = changed_at(sealed, place, chance)

        if any(place in part for part in parts):
            assert not by_the_library(changed, root.certificate), place
        else:
            outside += 1
        assert verify_pdf(changed, [root.certificate]).refused, place
    assert 0 < outside < OFFSETS


@pytest.mark.parametrize("where", ["first", "last"])
def test_the_edges_of_what_is_signed_count_too(sealed, root, where):
    chance = random.Random(4)
    for part in signed_parts(sealed):
        place = part.start if where == "first" else part.stop - 1

        changed = changed_at(sealed, place, chance)

        assert not by_the_library(changed, root.certificate)
        assert verify_pdf(changed, [root.certificate]).refused

"""The part of a signed PDF that its signature cannot cover: the signature's container.

A signature says nothing of the bytes that hold it. Here each of them is either known or
must be what this package writes, so that little can be hidden or changed there. The
stored SHA-256 of the whole file closes what is left.
"""

from collections.abc import Collection
from typing import Any, Final

from reports.keys import fingerprint

# The attribute beside a signature that holds a time-stamp (RFC 3161, appendix A).
STAMP: Final = "signature_time_stamp_token"


def unknown_part(
    pdf: bytes, signature: Any, known: Collection[str], *, stamped: bool = False
) -> str:
    """What in the container is not as it was written, in words; "" where nothing is.

    `signature` is pyHanko's embedded signature, `known` are fingerprints of certificates
    that may stand there. `stamped`: a time-stamp that holds is there, and belongs.
    """
    data = bytes(signature.pkcs7_content)
    content = signature.signed_data
    if not _written_plainly(pdf, signature, data):
        return "its bytes are written in another way"
    if any(data[_length(data) :]):
        return "something stands after the signature"
    if len(content["signer_infos"]) != 1:
        return "it holds more than one signer"
    certificates = {fingerprint(one.chosen.dump()) for one in content["certificates"]}
    if not certificates <= {*known, fingerprint(signature.signer_cert.dump())}:
        return "it holds a certificate that is not known"
    if not _fixed_parts_hold(content, stamped):
        return "its header is not the one of a sealed report"
    return ""


def _written_plainly(pdf: bytes, signature: Any, data: bytes) -> bool:
    """Hex digits without a gap, of one case: no second way to write the same."""
    start, end = int(signature.byte_range[1]), int(signature.byte_range[2])
    written = pdf[start:end]
    digits = data.hex().encode("ascii")
    return written in (b"<" + digits + b">", b"<" + digits.upper() + b">")


def _length(data: bytes) -> int:
    from asn1crypto import cms

    return len(cms.ContentInfo.load(data, strict=False).dump())


def stamp_fault(signer: Any) -> str:
    """What is wrong with the number of time-stamps and of their signers; "" for nothing.

    A library looks at the first and passes over the rest: there anything could stand.
    """
    stamps = [
        token
        for attribute in signer["unsigned_attrs"] or ()
        if attribute["type"].native == STAMP
        for token in attribute["values"]
    ]
    counted = [each for each in _beside(signer) if each == STAMP]
    if counted and (len(counted) > 1 or len(stamps) != 1):
        return f"it holds {len(stamps)} time-stamps and not one"
    for token in stamps:
        if token["content_type"].native != "signed_data":
            return "its time-stamp is none"
        signers = token["content"]["signer_infos"]
        if len(signers) != 1:
            return f"its time-stamp has {len(signers)} signers and not one"
        if _beside(signers[0]):
            return "its time-stamp carries what nobody signed"
    return ""


def _fixed_parts_hold(content: Any, stamped: bool) -> bool:
    signer = content["signer_infos"][0]
    return (
        content["version"].native == "v1"
        and [one["algorithm"].native for one in content["digest_algorithms"]]
        == ["sha256"]
        and content["encap_content_info"]["content_type"].native == "data"
        and content["encap_content_info"]["content"].native is None
        and not content["crls"].native
        and signer["version"].native == "v1"
        and signer["digest_algorithm"]["algorithm"].native == "sha256"
        and signer["signature_algorithm"]["algorithm"].native in _ALGORITHMS
        and _beside(signer) == ([STAMP] if stamped else [])
    )


# P-256 as keys made here have it, RSA as an imported one may.
_ALGORITHMS: Final = frozenset({"sha256_ecdsa", "sha256_rsa", "rsassa_pkcs1v15"})


def _beside(signer: Any) -> list[str]:
    """The attributes that the signature does not cover, by name."""
    attributes = signer["unsigned_attrs"]
    return [each["type"].native for each in attributes] if attributes.native else []

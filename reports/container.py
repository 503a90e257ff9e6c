"""The part of a signed PDF that its signature cannot cover: the signature's container.

A signature says nothing of the bytes that hold it. Here each of them is either known or
must be what this package writes, so that little can be hidden or changed there. The
stored SHA-256 of the whole file closes what is left.
"""

from collections.abc import Collection
from typing import Any

from reports.keys import fingerprint


def unknown_part(pdf: bytes, signature: Any, roots: Collection[str]) -> str:
    """What in the container is not as it was written, in words; "" where nothing is.

    `signature` is pyHanko's embedded signature, `roots` are fingerprints.
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
    if not certificates <= {*roots, fingerprint(signature.signer_cert.dump())}:
        return "it holds a certificate that is not known"
    if not _fixed_parts_hold(content):
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


def _fixed_parts_hold(content: Any) -> bool:
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
        and signer["signature_algorithm"]["algorithm"].native == "sha256_ecdsa"
        and not signer["unsigned_attrs"].native
    )

"""A time-stamp authority by its address: when a report existed, by another's clock.

RFC 3161 over HTTP. Only a hash goes out. A server that does not answer is no reason not
to sign: the report is then signed without a time-stamp and says so.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from urllib.parse import urlsplit

SECONDS: Final = 5.0
LARGEST_ANSWER: Final = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeStampServer:
    """Where to ask, and whose word is taken (certificates as DER; none: nobody's)."""

    address: str
    roots: tuple[bytes, ...] = ()
    seconds: float = SECONDS

    @property
    def host(self) -> str:
        """The name that pages and reports carry."""
        return urlsplit(self.address).hostname or self.address


def client(server: TimeStampServer) -> Any:
    """The server as pyHanko asks one. Raises OSError where there is no fit answer."""
    from pyhanko.sign.timestamps import TimeStamper

    class Client(TimeStamper):
        async def async_request_tsa_response(self, req: Any) -> Any:
            return _asked(server, req)

    made: Any = Client
    return made()


def _asked(server: TimeStampServer, question: Any) -> Any:
    from urllib.request import Request, urlopen

    from asn1crypto import tsp
    from pyhanko.sign.timestamps import TimestampRequestError

    if urlsplit(server.address).scheme not in ("http", "https"):
        raise TimestampRequestError("the address is not one of http or https")
    request = Request(
        server.address,
        data=question.dump(),
        headers={
            "Content-Type": "application/timestamp-query",
            "Accept": "application/timestamp-reply",
        },
    )
    with urlopen(request, timeout=server.seconds) as reply:
        data = reply.read(LARGEST_ANSWER + 1)
    try:
        answer = tsp.TimeStampResp.load(data, strict=True)
        if answer["status"]["status"].native == "granted":
            _check_imprint(answer, question)
            _check_signer(answer)
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise TimestampRequestError("its answer is no time-stamp") from error
    return answer


def _check_imprint(answer: Any, question: Any) -> None:
    token = answer["time_stamp_token"]["content"]["encap_content_info"]["content"]
    stamped = token.parsed["message_imprint"].native
    if stamped != question["message_imprint"].native:
        raise ValueError("stamped something else")


def _check_signer(answer: Any) -> None:
    """A time-stamp has one signer (RFC 3161, 2.4.2), and nothing that nobody signed."""
    signers = answer["time_stamp_token"]["content"]["signer_infos"]
    if len(signers) != 1 or signers[0]["unsigned_attrs"].native:
        raise ValueError("not one signer alone")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """The time-stamp in a signature, as far as it could be looked at."""

    at: datetime
    by: str
    intact: bool
    trusted: bool
    issuer: bytes  # whose list has a word on the authority's certificate


def stamp_in(status: Any) -> Stamp | None:
    """The time-stamp of a validated signature; None where it has none."""
    found = status.timestamp_validity
    if found is None:
        return None
    subject = found.signing_cert.subject.native
    by = subject.get("common_name") or found.signing_cert.subject.human_friendly
    return Stamp(
        at=found.timestamp,
        by=str(by),
        intact=bool(found.intact and found.valid),
        trusted=bool(found.trusted),
        issuer=_issuer(found.signing_cert),
    )


def level_of(reader: Any, signature: Any, stamp: Stamp | None) -> str:
    """B-B, B-T or B-LT (ETSI EN 319 142-1), by what is there.

    B-LT needs a list of revoked certificates, or an answer of the issuer, for the signer
    and for the time-stamp authority. Whether they hold is not said by the level.
    """
    if stamp is None or not stamp.intact:
        return "B-B"
    needed = {_issuer(signature.signer_cert), stamp.issuer}
    return "B-LT" if needed <= _covered(reader) else "B-T"


def _issuer(certificate: Any) -> bytes:
    return bytes(certificate.issuer.dump())


def _covered(reader: Any) -> set[bytes]:
    """Whose certificates the file's own store (DSS) has a word on, by name."""
    return {_named(one) for one in lists_in(reader)} | _answered(reader)


def _named(data: bytes) -> bytes:
    from asn1crypto import crl

    return bytes(crl.CertificateList.load(data).issuer.dump())


def _answered(reader: Any) -> set[bytes]:
    """Issuers by the answers (OCSP) in the store: those whose certificates are there."""
    from asn1crypto import x509

    if not _kept(reader, "/OCSPs"):
        return set()
    return {_issuer(x509.Certificate.load(one)) for one in _kept(reader, "/Certs")}


def lists_in(reader: Any) -> list[bytes]:
    """The lists of revoked certificates that the file carries, as DER."""
    return _kept(reader, "/CRLs")


def _kept(reader: Any, name: str) -> list[bytes]:
    """What the file's own store (DSS, ISO 32000-2, 12.8.4.3) has under a name."""
    if "/DSS" not in reader.root or name not in reader.root["/DSS"]:
        return []
    return [each.get_object().data for each in reader.root["/DSS"][name]]

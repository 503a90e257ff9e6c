"""A time-stamp authority on 127.0.0.1: a root of its own, its list, and RFC 3161 by HTTP."""

import threading
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import SimpleNamespace

from asn1crypto import keys, tsp
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from pyhanko.sign.timestamps.dummy_client import DummyTimeStamper

NOW = datetime.now(UTC).replace(microsecond=0)
YEAR = timedelta(days=365)


def named(words):
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, words)])


def certificate(subject, key, issuer, issuer_key, extensions):
    builder = (
        x509.CertificateBuilder()
        .subject_name(named(subject))
        .issuer_name(named(issuer))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(NOW - YEAR)
        .not_valid_after(NOW + YEAR)
    )
    for one, critical in extensions:
        builder = builder.add_extension(one, critical=critical)
    return builder.sign(issuer_key, hashes.SHA256())


def usage(**granted):
    every = (
        "digital_signature content_commitment key_encipherment data_encipherment "
        "key_agreement key_cert_sign crl_sign encipher_only decipher_only"
    )
    return x509.KeyUsage(**{name: granted.get(name, False) for name in every.split()})


def root_of_times(key):
    return certificate(
        "Invented time root",
        key,
        "Invented time root",
        key,
        [
            (x509.BasicConstraints(ca=True, path_length=0), True),
            (usage(key_cert_sign=True, crl_sign=True), True),
        ],
    )


def stamper_of(key, root_key, list_at):
    point = x509.DistributionPoint(
        [x509.UniformResourceIdentifier(list_at)], None, None, None
    )
    return certificate(
        "Invented time-stamp unit",
        key,
        "Invented time root",
        root_key,
        [
            (x509.BasicConstraints(ca=False, path_length=None), True),
            (usage(digital_signature=True), True),
            # RFC 3161, 2.3: this purpose alone, and critical
            (x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING]), True),
            (x509.CRLDistributionPoints([point]), False),
        ],
    )


def empty_list(key):
    made = (
        x509.CertificateRevocationListBuilder()
        .issuer_name(named("Invented time root"))
        .last_update(NOW - timedelta(days=1))
        .next_update(NOW + YEAR)
    )
    return made.sign(key, hashes.SHA256()).public_bytes(Encoding.DER)


@contextmanager
def authority(*, answer=None, with_list=True):
    """Its address, its root and what it was asked; `answer` replaces what it says."""
    root_key, key = (rsa.generate_private_key(65537, 2048) for _ in range(2))
    asked = []
    served = SimpleNamespace()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self):
            body = self.rfile.read(int(self.headers["Content-Length"]))
            asked.append((self.headers["Content-Type"], body))
            said = answer or served.stamper.request_tsa_response
            self.give("application/timestamp-reply", said(tsp.TimeStampReq.load(body)))

        def do_GET(self):
            if with_list:
                self.give("application/pkix-crl", empty_list(root_key))
            else:
                self.send_error(404)

        def give(self, kind, data):
            data = data if isinstance(data, bytes) else data.dump()
            self.send_response(200)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(data)))
            self.end_headers()
            self.wfile.write(data)

        def log_message(self, *args):
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    base = f"http://127.0.0.1:{server.server_address[1]}"
    root = root_of_times(root_key)
    own = stamper_of(key, root_key, f"{base}/list.crl")
    served.stamper = OneAnswer(own, key)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield SimpleNamespace(
            address=f"{base}/time", root=root.public_bytes(Encoding.DER), asked=asked
        )
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


class OneAnswer(DummyTimeStamper):
    """Stamps with the time of now whatever it is asked for."""

    def __init__(self, own, key):
        plain = key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
        super().__init__(
            tsa_cert=asn1_x509.Certificate.load(own.public_bytes(Encoding.DER)),
            tsa_key=keys.PrivateKeyInfo.load(plain),
        )

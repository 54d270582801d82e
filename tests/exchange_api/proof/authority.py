"""An invented time-stamp authority (RFC 3161) that can also fail in every way."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Event, Thread
from typing import Any

from asn1crypto import algos, cms, tsp
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

NAME = "Invented Time Authority"
GEN_TIME = datetime(2026, 3, 1, 12, tzinfo=UTC)


class Authority:
    """Its certificates and its signing.

    mode: how it behaves: well, refuse, garbage, wrong-nonce, wrong-imprint, stranger, unsigned,
    status-500, endless, hang
    """

    def __init__(self) -> None:
        self.mode = "well"
        self.asked: list[bytes] = []
        self.go_on = Event()
        self._root_key = ec.generate_private_key(ec.SECP256R1())
        self._key = ec.generate_private_key(ec.SECP256R1())
        self.root = _certificate("Invented Root", self._root_key, "Invented Root", self._root_key)
        self._own = _certificate(NAME, self._key, "Invented Root", self._root_key, stamps=True)

    @property
    def root_pem(self) -> bytes:
        return self.root.public_bytes(Encoding.PEM)

    def answer(self, asked: bytes) -> bytes:
        """What it answers to a request, by its mode."""
        self.asked.append(asked)
        if self.mode == "garbage":
            return b"an invented letter"
        if self.mode == "refuse":
            return bytes.fromhex("30053003020102")  # status 2, rejection, and no token
        request = tsp.TimeStampReq.load(asked)
        return bytes(
            tsp.TimeStampResp(
                {"status": {"status": "granted"}, "time_stamp_token": self._token(request)}
            ).dump()
        )

    def _token(self, request: Any) -> Any:
        imprint = request["message_imprint"].native
        hashed, nonce = imprint["hashed_message"], request["nonce"].native
        if self.mode == "wrong-imprint":
            hashed = sha256(b"something else").digest()
        if self.mode == "wrong-nonce":
            nonce += 1
        info = tsp.TSTInfo(
            {
                "version": "v1",
                "policy": "1.3.6.1.4.1.99999.1",
                "message_imprint": {
                    "hash_algorithm": {"algorithm": "sha256"},
                    "hashed_message": hashed,
                },
                "serial_number": 7,
                "gen_time": GEN_TIME,
                "nonce": nonce,
            }
        )
        return self._signed(info.dump())

    def _signed(self, content: bytes) -> Any:
        own = asn1_x509.Certificate.load(self._own.public_bytes(Encoding.DER))
        attributes = cms.CMSAttributes(
            [
                {"type": "content_type", "values": ["tst_info"]},
                {"type": "message_digest", "values": [sha256(content).digest()]},
                {
                    "type": "signing_certificate_v2",
                    "values": [
                        tsp.SigningCertificateV2(
                            {"certs": [{"cert_hash": sha256(own.dump()).digest()}]}
                        )
                    ],
                },
            ]
        )
        key = self._key
        if self.mode == "stranger":
            key = ec.generate_private_key(ec.SECP256R1())
        signature = key.sign(attributes.untag().dump(), ec.ECDSA(hashes.SHA256()))
        signer = cms.SignerInfo(
            {
                "version": "v1",
                "sid": cms.SignerIdentifier(
                    {
                        "issuer_and_serial_number": {
                            "issuer": own.issuer,
                            "serial_number": own.serial_number,
                        }
                    }
                ),
                "digest_algorithm": algos.DigestAlgorithm({"algorithm": "sha256"}),
                "signed_attrs": attributes,
                "signature_algorithm": {"algorithm": "sha256_ecdsa"},
                "signature": signature,
            }
        )
        return cms.ContentInfo(
            {
                "content_type": "signed_data",
                "content": cms.SignedData(
                    {
                        "version": "v3",
                        "digest_algorithms": [{"algorithm": "sha256"}],
                        "encap_content_info": {
                            "content_type": "tst_info",
                            "content": cms.ParsableOctetString(content),
                        },
                        "certificates": [own],
                        "signer_infos": [signer],
                    }
                ),
            }
        )


def _certificate(
    name: str,
    key: ec.EllipticCurvePrivateKey,
    issuer: str,
    by: ec.EllipticCurvePrivateKey,
    *,
    stamps: bool = False,
) -> x509.Certificate:
    builder = (
        x509.CertificateBuilder()
        .subject_name(_name(name))
        .issuer_name(_name(issuer))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(GEN_TIME - timedelta(days=1))
        .not_valid_after(GEN_TIME + timedelta(days=3650))
        .add_extension(x509.BasicConstraints(ca=not stamps, path_length=None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(by.public_key()), critical=False
        )
    )
    if stamps:
        usage = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING])
        builder = builder.add_extension(usage, critical=True)
    return builder.sign(by, hashes.SHA256())


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


@contextmanager
def serving(authority: Authority) -> Iterator[str]:
    """The authority on a socket of this machine; its URL."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            asked = self.rfile.read(int(self.headers["content-length"]))
            answer = authority.answer(asked)
            if authority.mode == "hang":
                authority.go_on.wait(30)
            self.send_response(500 if authority.mode == "status-500" else 200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.end_headers()
            self.wfile.write(b"x" * 2**20 if authority.mode == "endless" else answer)

        def log_message(self, *_: object) -> None:
            return

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}/"
    finally:
        authority.go_on.set()
        server.shutdown()
        server.server_close()
        thread.join()

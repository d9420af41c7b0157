"""Makes certificates and keys for the tests, good ones and such as are to be refused."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    KeySerializationEncryption,
    NoEncryption,
    PrivateFormat,
)
from cryptography.x509.oid import NameOID

NAME = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "a test")])
LONG_AGO = datetime(2020, 1, 1, tzinfo=UTC)


def write_pair(
    folder: Path | str = ".", *, begins: datetime | None = None, days: int = 200,
    name: str = "shop.example.test", passphrase: bytes = b"",
) -> tuple[Path, Path]:  # fmt: skip
    """Write a certificate that vouches for itself and its key; give both files."""
    key = ec.generate_private_key(ec.SECP256R1())
    begins = begins or datetime.now(UTC) - timedelta(days=1)
    names = [x509.DNSName(name), x509.IPAddress(ip_address("127.0.0.1"))]
    made = (
        x509.CertificateBuilder()
        .subject_name(NAME)
        .issuer_name(NAME)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(begins + timedelta(days=days))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, SHA256())
    )
    lock: KeySerializationEncryption = (
        BestAvailableEncryption(passphrase) if passphrase else NoEncryption()
    )
    certificate, private = Path(folder) / "pages.pem", Path(folder) / "pages-key.pem"
    certificate.write_bytes(made.public_bytes(Encoding.PEM))
    private.write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, lock))
    return certificate, private

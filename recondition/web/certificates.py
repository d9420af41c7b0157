"""The certificate that the pages are served with: what is wrong with it is said before, in words.

A library would say it in its own words, and only to the first visitor.
"""

from __future__ import annotations

import ssl
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    PublicFormat,
    load_pem_private_key,
)

from recondition.errors import Refused

SIZE_MAX_BYTES = 200_000


class CertificateNotUsable(Refused):
    """The file of a certificate or of its key cannot be read, or holds something else."""

    exit_status = 2

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what is wrong."""
        super().__init__(
            f"{path} cannot be used for TLS: {why}",
            todo="Give PEM files: in --certificate the server's certificate and below it those "
            "between it and the authority, in --certificate-key its private key, not locked.",
        )


class KeyOfAnother(Refused):
    """The private key is not that of the certificate."""

    exit_status = 2

    def __init__(self, certificate: Path, key: Path) -> None:
        """Name both files."""
        super().__init__(
            f"the key {key} does not belong to the certificate {certificate}",
            todo="Give the key that the certificate was asked for with. The server's own "
            "certificate has to come first in its file.",
        )


class CertificateRunOut(Refused):
    """The certificate is not valid today."""

    def __init__(self, path: Path, certificate: x509.Certificate) -> None:
        """Name the file and its two days."""
        first, last = certificate.not_valid_before_utc, certificate.not_valid_after_utc
        super().__init__(
            f"the certificate {path} is not valid now, but from {first:%Y-%m-%d} to "
            f"{last:%Y-%m-%d}",
            todo="Get a new one from whoever issued it, and look whether this machine's clock is "
            "right.",
        )


def read_certificate(path: Path, now: datetime) -> x509.Certificate:
    """Read the first certificate of a file, which is the server's own.

    Raises CertificateNotUsable, CertificateRunOut.
    """
    try:
        certificate = x509.load_pem_x509_certificates(_read(path))[0]
    except (ValueError, UnsupportedAlgorithm) as error:
        raise CertificateNotUsable(path, "it holds no certificate in PEM") from error
    if not certificate.not_valid_before_utc <= now <= certificate.not_valid_after_utc:
        raise CertificateRunOut(path, certificate)
    return certificate


def hold_key(path: Path, certificate: x509.Certificate, of: Path) -> None:
    """Hold that a file has the key of a certificate. Raises CertificateNotUsable, KeyOfAnother."""
    try:
        key = load_pem_private_key(_read(path), None)
        found = key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    except TypeError as error:
        raise CertificateNotUsable(path, "it is locked with a passphrase") from error
    except (ValueError, UnsupportedAlgorithm) as error:
        raise CertificateNotUsable(path, "it holds no private key in PEM") from error
    wanted = certificate.public_key()
    if found != wanted.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo):
        raise KeyOfAnother(of, path)


def tls_context(certificate: Path, key: Path) -> ssl.SSLContext:
    """Give what a server speaks TLS with: 1.2 or newer, with the library's own choice of ciphers.

    Both files may be the same one. Raises CertificateNotUsable.
    """
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        context.load_cert_chain(certificate, key, password=lambda: "")
    except (OSError, ValueError) as error:  # too short a key, for instance
        raise CertificateNotUsable(certificate, str(error)) from error
    return context


def _read(path: Path) -> bytes:
    """Read a file of a certificate's size. Raises CertificateNotUsable."""
    try:
        with path.open("rb") as stream:
            return stream.read(SIZE_MAX_BYTES)
    except OSError as error:
        raise CertificateNotUsable(path, error.strerror or str(error)) from error

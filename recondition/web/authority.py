"""The authority of one shop's network: it vouches for this server, and can for nothing else.

It is made once, beside the key that signs work histories, and devices are told once to trust it.
Its name constraints (RFC 5280, 4.2.1.10) let it vouch for the names it was made for, for names
in ``.local`` and for private addresses alone, so that whoever steals it cannot pose as a bank.
Its private key leaves its folder in no way. Each file there holds a key and its certificate, is
readable by its owner only, and is put in its place whole.
"""

from __future__ import annotations

import os
import stat
import tempfile
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from recondition.book.keys import OTHERS, place_of_key
from recondition.errors import Refused
from recondition.web.behind import PRIVATE, is_address, is_private

if TYPE_CHECKING:
    from collections.abc import Iterable

    from recondition.book.engine import Book

AUTHORITY_FILE, SERVER_FILE = "authority-private.pem", "server-private.pem"
AUTHORITY_DAYS = 3650
SERVER_DAYS = 397
RENEWED_DAYS = 90
SIZE_MAX_BYTES = 20_000
_EARLIER = timedelta(days=1)  # a device whose clock is behind finds the certificate valid
_ALWAYS = ("local", "localhost")
_NAME_MAX = 64


class AuthorityNotUsable(Refused):
    """The file of the local authority is damaged, run out, or cannot be read or written."""

    def __init__(self, path: Path, why: str) -> None:
        """Name the file and what is wrong."""
        super().__init__(
            f"the authority of the shop's network in {path} cannot be used: {why}",
            todo="Put that right. Or move its folder away: a new authority is made then, and every "
            "device has to be paired again.",
        )


class NameOutsideAuthority(Refused):
    """A name that the local authority may not vouch for."""

    exit_status = 2

    def __init__(self, name: str, folder: Path) -> None:
        """Name it and the folder of the authority."""
        super().__init__(
            f"the authority in {folder} cannot vouch for {name}: it was made for other names and "
            "for private addresses",
            todo="Leave the name out. Or move the folder away: an authority for the new names is "
            "made then, and every device has to be paired again.",
        )


@dataclass(frozen=True, slots=True)
class Authority:
    """A certificate authority of one network: its folder, its certificate and its key."""

    folder: Path
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @property
    def der(self) -> bytes:
        """The certificate as devices take it (DER)."""
        return self.certificate.public_bytes(Encoding.DER)

    @property
    def fingerprint(self) -> str:
        """The SHA-256 of the certificate, in pairs of hex digits, as devices show it."""
        return self.certificate.fingerprint(SHA256()).hex(":").upper()

    @property
    def called(self) -> str:
        """What a device calls it in the list of those that it trusts."""
        return str(self.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)

    def covers(self, name: str) -> bool:
        """Tell whether it may vouch for a name or an IP address."""
        if is_address(name):
            return is_private(name)
        return any(name == end or name.endswith(f".{end}") for end in self.limits)

    @property
    def limits(self) -> tuple[str, ...]:
        """The names that it may vouch for, with all that lie below them."""
        found = self.certificate.extensions.get_extension_for_class(x509.NameConstraints).value
        named = (one for one in found.permitted_subtrees or () if isinstance(one, x509.DNSName))
        return tuple(one.value for one in named)


def folder_of(book: Book) -> Path:
    """Say where the authority of a book lies: beside the key that signs work histories."""
    named = (book.path or book.files).name
    return place_of_key(book).with_name(f"{named}.lan")


def open_authority(folder: Path, names: Iterable[str], machine: str, now: datetime) -> Authority:
    """Read the authority of a folder, or make it for some names where there is none yet.

    ``machine`` is written into its own name, for whoever looks for it on a device. Raises
    AuthorityNotUsable.
    """
    path = folder / AUTHORITY_FILE
    if not path.exists():
        _put_new(path, _new_authority(names, machine, now))
    certificate, key = _read(path)
    if now >= certificate.not_valid_after_utc:
        raise AuthorityNotUsable(path, f"it ran out on {certificate.not_valid_after_utc:%Y-%m-%d}")
    return Authority(folder, certificate, key)


def server_file(authority: Authority, names: Iterable[str], now: datetime) -> Path:
    """Give the file with the server's key and certificate, for exactly these names.

    It is made anew where it is missing or damaged, was made for other names or by another
    authority, or ends soon. Raises NameOutsideAuthority, AuthorityNotUsable.
    """
    wanted = tuple(dict.fromkeys(names))
    for name in wanted:
        if not authority.covers(name):
            raise NameOutsideAuthority(name, authority.folder)
    path = authority.folder / SERVER_FILE
    if not _still_good(path, authority, set(wanted), now):
        made = _beside(path, _new_server(authority, wanted, now))
        try:
            made.replace(path)
        except OSError as error:
            made.unlink(missing_ok=True)
            raise AuthorityNotUsable(path, error.strerror or str(error)) from error
    return path


def _still_good(path: Path, authority: Authority, wanted: set[str], now: datetime) -> bool:
    """Tell whether the server's certificate can go on being used."""
    if not path.exists():
        return False
    try:
        certificate, _ = _read(path)
        certificate.verify_directly_issued_by(authority.certificate)
    except (AuthorityNotUsable, InvalidSignature, ValueError, TypeError):
        return False
    ends = certificate.not_valid_after_utc
    lasting = ends - now > timedelta(days=RENEWED_DAYS)
    longest = ends >= authority.certificate.not_valid_after_utc
    return (lasting or longest) and set(names_of(certificate)) == wanted


def names_of(certificate: x509.Certificate) -> tuple[str, ...]:
    """Give the names and IP addresses that a certificate is for; wildcards are left out."""
    try:
        found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return ()
    named = [name for name in found.get_values_for_type(x509.DNSName) if "*" not in name]
    return (*named, *(str(one) for one in found.get_values_for_type(x509.IPAddress)))


def _general(name: str) -> x509.GeneralName:
    """Write a name as a certificate holds it."""
    return x509.IPAddress(ip_address(name)) if is_address(name) else x509.DNSName(name)


def _called(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:_NAME_MAX])])


def _end_of(authority: Authority, now: datetime) -> datetime:
    """Say how long a certificate made now lasts: not longer than its authority."""
    last = now - _EARLIER + timedelta(days=SERVER_DAYS)
    return min(last, authority.certificate.not_valid_after_utc)


def _new_authority(names: Iterable[str], machine: str, now: datetime) -> bytes:
    """Make an authority that may vouch for some names; key and certificate as PEM."""
    key = ec.generate_private_key(ec.SECP256R1())
    called = _called(f"recondition on {machine}, {now:%Y-%m-%d}")
    allowed = dict.fromkeys([*_ALWAYS, *(name for name in names if not is_address(name))])
    permitted: list[x509.GeneralName] = [x509.DNSName(name) for name in allowed]
    permitted += [x509.IPAddress(network) for network in PRIVATE]
    certificate = (
        _begun(called, called, key.public_key(), now)
        .not_valid_after(now + timedelta(days=AUTHORITY_DAYS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .sign(key, SHA256())
    )
    return _pem(key, certificate)


def _new_server(authority: Authority, names: Iterable[str], now: datetime) -> bytes:
    """Make a server's key and certificate, with the authority's behind it, as PEM."""
    key = ec.generate_private_key(ec.SECP256R1())
    above, named = authority.key.public_key(), [_general(name) for name in names]
    certificate = (
        _begun(_called("recondition pages"), authority.certificate.subject, key.public_key(), now)
        .not_valid_after(_end_of(authority, now))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(named), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(above), critical=False)
        .sign(authority.key, SHA256())
    )
    return _pem(key, certificate) + authority.certificate.public_bytes(Encoding.PEM)


def _begun(
    subject: x509.Name, issuer: x509.Name, public: ec.EllipticCurvePublicKey, now: datetime
) -> x509.CertificateBuilder:
    """Begin a certificate with what every one of ours has."""
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _EARLIER)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    """Say what a key is for: to sign certificates, or to speak TLS."""
    return x509.KeyUsage(
        digital_signature=not signs_certificates, key_cert_sign=signs_certificates,
        content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, crl_sign=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _pem(key: ec.EllipticCurvePrivateKey, certificate: x509.Certificate) -> bytes:
    private = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return private + certificate.public_bytes(Encoding.PEM)


def _read(path: Path) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    """Read a key and its certificate from a file that only its owner can read.

    Raises AuthorityNotUsable.
    """
    try:
        if os.name == "posix" and path.stat().st_mode & OTHERS:
            raise AuthorityNotUsable(path, f"others can read it; chmod 600 {path}")
        with path.open("rb") as stream:
            content = stream.read(SIZE_MAX_BYTES)
        key = load_pem_private_key(content, None)
        certificate = x509.load_pem_x509_certificates(content)[0]
    except OSError as error:
        raise AuthorityNotUsable(path, error.strerror or str(error)) from error
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise AuthorityNotUsable(path, "it is damaged") from error
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise AuthorityNotUsable(path, "its key is of another sort")
    if key.public_key() != certificate.public_key():
        raise AuthorityNotUsable(path, "its key and its certificate do not belong together")
    return certificate, key


def _put_new(path: Path, content: bytes) -> None:
    """Put a new file in its place unless another got there first: that one then counts."""
    made = _beside(path, content)
    try:
        os.link(made, path)
    except FileExistsError:
        return
    except OSError as error:
        raise AuthorityNotUsable(path, error.strerror or str(error)) from error
    finally:
        made.unlink(missing_ok=True)


def _beside(path: Path, content: bytes) -> Path:
    """Write a file whole beside its place, readable by its owner only, as is its folder."""
    try:
        path.parent.mkdir(mode=stat.S_IRWXU, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".pem-")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise AuthorityNotUsable(path, error.strerror or str(error)) from error
    return Path(name)

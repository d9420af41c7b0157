"""The certificate that pages are served with, and the authority of a shop's own network."""

from __future__ import annotations

import os
import socket
import ssl
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from flask import Flask

from recondition.web import authority as lan
from recondition.web.authority import (
    Authority,
    AuthorityNotUsable,
    NameOutsideAuthority,
    names_of,
    open_authority,
    server_file,
)
from recondition.web.certificates import (
    CertificateNotUsable,
    CertificateRunOut,
    KeyOfAnother,
    hold_key,
    read_certificate,
    tls_context,
)
from recondition.web.serving import Listening, listen, stop
from tests.web.making import LONG_AGO, write_pair

NOW = datetime.now(UTC)
NAMES = ("shop.example.test", "desk.local", "192.168.7.20", "127.0.0.1", "::1")


@pytest.fixture
def authority(tmp_path: Path) -> Authority:
    return open_authority(tmp_path / "shop.book.lan", ["shop.example.test"], "desk", NOW)


def _used(certificate: Path, key: Path) -> None:
    """Do all that is done with a certificate before pages are served with it."""
    hold_key(key, read_certificate(certificate, NOW), certificate)
    tls_context(certificate, key)


def test_a_good_certificate_is_taken(tmp_path: Path) -> None:
    certificate, key = write_pair(tmp_path)
    _used(certificate, key)
    assert names_of(read_certificate(certificate, NOW)) == ("shop.example.test", "127.0.0.1")
    assert tls_context(certificate, key).minimum_version == ssl.TLSVersion.TLSv1_2


def test_what_is_wrong_with_a_certificate_is_said(tmp_path: Path) -> None:
    certificate, key = write_pair(tmp_path)
    with pytest.raises(CertificateNotUsable, match="no certificate in PEM"):
        _used(key, key)
    with pytest.raises(CertificateNotUsable, match="no private key in PEM"):
        _used(certificate, certificate)
    with pytest.raises(CertificateNotUsable, match="No such file"):
        _used(tmp_path / "none.pem", key)
    with pytest.raises(CertificateNotUsable, match="No such file"):
        _used(certificate, tmp_path / "none.pem")
    (tmp_path / "cut.pem").write_bytes(certificate.read_bytes()[:200])
    with pytest.raises(CertificateNotUsable, match="no certificate in PEM"):
        _used(tmp_path / "cut.pem", key)


def test_a_key_that_is_locked_or_of_another_is_said(tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    certificate, _ = write_pair(tmp_path)
    _, another = write_pair(tmp_path / "other")
    with pytest.raises(KeyOfAnother):
        _used(certificate, another)
    certificate, locked = write_pair(tmp_path, passphrase=b"seventeen geese")
    with pytest.raises(CertificateNotUsable, match="locked with a passphrase"):
        _used(certificate, locked)


def test_a_certificate_that_is_over_or_not_yet_valid_is_said(tmp_path: Path) -> None:
    with pytest.raises(CertificateRunOut, match="from 2020-01-01 to 2020-07-19"):
        _used(*write_pair(tmp_path, begins=LONG_AGO))
    with pytest.raises(CertificateRunOut, match="not valid now"):
        _used(*write_pair(tmp_path, begins=NOW + timedelta(days=1)))


def test_an_authority_is_made_once_and_for_its_owner_alone(authority: Authority) -> None:
    again = open_authority(authority.folder, ["else.example.test"], "else", NOW)
    assert again.fingerprint == authority.fingerprint
    file = server_file(authority, NAMES, NOW)
    assert stat.S_IMODE(authority.folder.stat().st_mode) == 0o700
    found = sorted(authority.folder.iterdir())
    assert found == [authority.folder / "authority-private.pem", file]
    assert [stat.S_IMODE(path.stat().st_mode) for path in found] == [0o600, 0o600]


def test_what_an_authority_is(authority: Authority) -> None:
    found = authority.certificate
    basic = found.extensions.get_extension_for_class(x509.BasicConstraints)
    usage = found.extensions.get_extension_for_class(x509.KeyUsage)
    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    assert (usage.critical, usage.value.key_cert_sign, usage.value.crl_sign) == (True, True, False)
    assert found.extensions.get_extension_for_class(x509.NameConstraints).critical
    assert authority.limits == ("local", "localhost", "shop.example.test")
    assert authority.called == f"recondition on desk, {NOW:%Y-%m-%d}"


def test_what_a_server_gets(authority: Authority) -> None:
    file = server_file(authority, NAMES, NOW)
    leaf, above = x509.load_pem_x509_certificates(file.read_bytes())
    assert above == authority.certificate
    leaf.verify_directly_issued_by(authority.certificate)
    assert set(names_of(leaf)) == set(NAMES)
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc == timedelta(days=397)
    assert not leaf.extensions.get_extension_for_class(x509.BasicConstraints).value.ca


def test_a_servers_certificate_is_made_anew_only_where_it_must(authority: Authority) -> None:
    def made(names: tuple[str, ...] = NAMES, now: datetime = NOW) -> bytes:
        return server_file(authority, names, now).read_bytes()

    first = made()
    assert made(NAMES[::-1]) == first
    assert made(now=NOW + timedelta(days=300)) == first
    renewed = made(now=NOW + timedelta(days=310))
    assert renewed != first
    assert made(now=NOW) == renewed
    assert made(NAMES[:2]) != renewed
    (authority.folder / "server-private.pem").write_bytes(b"half of it")
    assert b"CERTIFICATE" in made(NAMES[:2])


def test_a_certificate_of_another_authority_is_made_anew(authority: Authority) -> None:
    first = server_file(authority, NAMES, NOW).read_bytes()
    (authority.folder / "authority-private.pem").unlink()
    other = open_authority(authority.folder, ["shop.example.test"], "desk", NOW)
    assert other.fingerprint != authority.fingerprint
    assert server_file(other, NAMES, NOW).read_bytes() != first


def test_nothing_lasts_longer_than_its_authority(authority: Authority) -> None:
    near = authority.certificate.not_valid_after_utc - timedelta(days=20)
    file = server_file(authority, NAMES, near)
    leaf = x509.load_pem_x509_certificates(file.read_bytes())[0]
    assert leaf.not_valid_after_utc == authority.certificate.not_valid_after_utc
    assert server_file(authority, NAMES, near + timedelta(days=1)) == file
    assert x509.load_pem_x509_certificates(file.read_bytes())[0] == leaf
    with pytest.raises(AuthorityNotUsable, match="ran out on"):
        open_authority(authority.folder, [], "desk", near + timedelta(days=20))


@pytest.mark.parametrize(
    "name", ["bank.example.test", "example.test", "notshop.example.test", "8.8.4.4", "2001:db8::1"]
)
def test_an_authority_vouches_for_no_other_name(authority: Authority, name: str) -> None:
    with pytest.raises(NameOutsideAuthority, match=name):
        server_file(authority, [*NAMES, name], NOW)
    assert not (authority.folder / "server-private.pem").exists()


def test_an_authority_that_others_can_read_or_that_is_damaged_is_refused(
    authority: Authority,
) -> None:
    file = authority.folder / "authority-private.pem"
    whole = file.read_bytes()
    file.chmod(0o640)
    with pytest.raises(AuthorityNotUsable, match="others can read it"):
        open_authority(authority.folder, [], "desk", NOW)
    file.chmod(0o600)
    for damaged in (b"", whole[:300], whole[: whole.index(b"-----BEGIN CERT")]):
        file.write_bytes(damaged)
        with pytest.raises(AuthorityNotUsable, match="damaged"):
            open_authority(authority.folder, [], "desk", NOW)
    other = open_authority(authority.folder.with_name("other"), [], "desk", NOW)
    key = whole[: whole.index(b"-----BEGIN CERT")]
    file.write_bytes(key + other.certificate.public_bytes(Encoding.PEM))
    with pytest.raises(AuthorityNotUsable, match="do not belong together"):
        open_authority(authority.folder, [], "desk", NOW)


def test_where_the_disk_is_full_nothing_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "lan"
    kept = open_authority(folder, NAMES, "desk", NOW)
    (folder / "authority-private.pem").unlink()

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(AuthorityNotUsable, match="No space left"):
        open_authority(folder, [], "desk", NOW)
    with pytest.raises(AuthorityNotUsable, match="No space left"):
        server_file(kept, NAMES, NOW)
    assert list(folder.iterdir()) == []


def _asked(context: ssl.SSLContext, port: int, name: str) -> str:
    """Greet the server by a name; give the version of TLS that was agreed on."""
    with (
        socket.create_connection(("127.0.0.1", port), timeout=10) as plain,
        context.wrap_socket(plain, server_hostname=name) as speaking,
    ):
        return str(speaking.version())


def _trusting(authority: Authority) -> ssl.SSLContext:
    return ssl.create_default_context(
        cadata=authority.certificate.public_bytes(Encoding.PEM).decode()
    )


def test_whoever_trusts_the_authority_gets_in_by_name_and_by_address(
    authority: Authority,
) -> None:
    file = server_file(authority, NAMES, NOW)
    running = listen(Flask("test"), Listening(port=0, threads=2, tls=tls_context(file, file)))
    try:
        for name in NAMES:
            assert _asked(_trusting(authority), running.port, name) == "TLSv1.3"
        with pytest.raises(ssl.SSLCertVerificationError, match="not valid for"):
            _asked(_trusting(authority), running.port, "other.example.test")
        with pytest.raises(ssl.SSLCertVerificationError, match="self-signed"):
            _asked(ssl.create_default_context(), running.port, NAMES[0])
    finally:
        assert stop(running)


def test_whoever_steals_the_authority_cannot_pose_as_another(authority: Authority) -> None:
    """Its limits are held by whoever checks, not by us: OpenSSL refuses the name."""
    stolen = authority.folder / "stolen.pem"
    stolen.write_bytes(lan._new_server(authority, ("bank.example.test",), NOW))  # noqa: SLF001 - past its own check
    running = listen(Flask("test"), Listening(port=0, threads=2, tls=tls_context(stolen, stolen)))
    try:
        with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
            _asked(_trusting(authority), running.port, "bank.example.test")
    finally:
        assert stop(running)

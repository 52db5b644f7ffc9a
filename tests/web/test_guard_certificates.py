"""The home authority: what it vouches for, what it cannot, and when certificates are renewed.

Checked by the verifier of the `cryptography` library, which keeps to RFC 5280 name constraints,
and by the certificate viewer of OpenSSL through Python's own `ssl`.
"""

from __future__ import annotations

import ipaddress
import socket
import ssl
import threading
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtendedKeyUsageOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError
from guard_help import LAPTOP, Clock

from boughwright.usecases.devices import Doorkeeper
from boughwright.web.guard import certificates as c
from boughwright.web.guard.seal import Seal

if TYPE_CHECKING:
    from pathlib import Path

NOW = datetime(2026, 6, 9, 10, 0, tzinfo=UTC)
AUTHORITY = c.make_authority(NOW)
HOSTS = (LAPTOP, "laptop.local", "127.0.0.1", "localhost", "fd00::5")


def verify(leaf: c.Pair, host: str, authority: c.Pair = AUTHORITY, now: datetime = NOW) -> None:
    """Verify a certificate as a browser would, with the authority installed."""
    store = Store([x509.load_pem_x509_certificate(authority.certificate)])
    subject: x509.DNSName | x509.IPAddress
    try:
        subject = x509.IPAddress(ipaddress.ip_address(host))
    except ValueError:
        subject = x509.DNSName(host)
    verifier = PolicyBuilder().store(store).time(now).build_server_verifier(subject)
    verifier.verify(x509.load_pem_x509_certificate(leaf.certificate), [])


@pytest.mark.parametrize("host", HOSTS)
def test_the_servers_certificate_is_good_for_home(host: str) -> None:
    verify(c.make_leaf(AUTHORITY, HOSTS, NOW), host)


@pytest.mark.parametrize(
    "host", ["bank.example", "example.com", "local.example", "notlocal", "8.8.8.8", "172.32.0.1",
             "2001:db8::1", "100.64.0.1"]
)  # fmt: skip
def test_a_certificate_for_an_outside_name_is_refused(host: str) -> None:
    """What a thief of the key could make: signed, whole, and refused for its name alone."""
    with pytest.raises(ValueError, match="no certificate can be made"):
        c.make_leaf(AUTHORITY, [host], NOW)
    with pytest.raises(VerificationError, match="constraint"):
        verify(c._leaf(AUTHORITY, [host], NOW), host)


def test_one_outside_name_among_good_ones_spoils_the_certificate() -> None:
    with pytest.raises(VerificationError, match="constraint"):
        verify(c._leaf(AUTHORITY, [LAPTOP, "bank.example"], NOW), LAPTOP)


def test_the_authority_cannot_make_another_authority() -> None:
    held = x509.load_pem_x509_certificate(AUTHORITY.certificate)
    basic = held.extensions.get_extension_for_class(x509.BasicConstraints)
    assert basic.critical
    assert basic.value == x509.BasicConstraints(ca=True, path_length=0)
    names = held.extensions.get_extension_for_class(x509.NameConstraints)
    assert names.critical
    middle = c._leaf(AUTHORITY, [LAPTOP], NOW)  # it is no authority, so it vouches for nothing
    below = c._leaf(middle, [LAPTOP], NOW)
    store = Store([held])
    verifier = PolicyBuilder().store(store).time(NOW).build_server_verifier(
        x509.IPAddress(ipaddress.ip_address(LAPTOP))
    )  # fmt: skip
    with pytest.raises(VerificationError):
        verifier.verify(x509.load_pem_x509_certificate(below.certificate),
                        [x509.load_pem_x509_certificate(middle.certificate)])  # fmt: skip


def test_another_authoritys_certificate_is_refused() -> None:
    other = c.make_authority(NOW)
    with pytest.raises(VerificationError):
        verify(c.make_leaf(other, HOSTS, NOW), LAPTOP)
    assert not c.still_good(AUTHORITY, c.make_leaf(other, HOSTS, NOW), HOSTS, NOW)


def test_the_certificate_holds_397_days_and_for_servers_only() -> None:
    held = x509.load_pem_x509_certificate(c.make_leaf(AUTHORITY, HOSTS, NOW).certificate)
    assert held.not_valid_after_utc - held.not_valid_before_utc == timedelta(days=397)
    assert held.not_valid_before_utc == NOW - timedelta(days=1)
    usage = held.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]


def test_it_is_renewed_with_less_than_thirty_days_left_or_for_new_hosts() -> None:
    leaf = c.make_leaf(AUTHORITY, HOSTS, NOW)  # ends 396 days from now, as it began a day ago
    assert c.still_good(AUTHORITY, leaf, HOSTS, NOW)
    assert c.still_good(AUTHORITY, leaf, HOSTS[:1], NOW)
    assert c.still_good(AUTHORITY, leaf, HOSTS, NOW + timedelta(days=365))
    assert not c.still_good(AUTHORITY, leaf, HOSTS, NOW + timedelta(days=366))
    assert not c.still_good(AUTHORITY, leaf, HOSTS, NOW - timedelta(days=2))
    assert not c.still_good(AUTHORITY, leaf, (*HOSTS, "192.168.7.7"), NOW)
    assert not c.still_good(AUTHORITY, c.Pair(b"", b""), HOSTS, NOW)
    other_key = c.make_leaf(AUTHORITY, HOSTS, NOW).key
    assert not c.still_good(AUTHORITY, c.Pair(leaf.certificate, other_key), HOSTS, NOW)


def test_an_authority_ends_before_its_certificates_would() -> None:
    assert c.authority_holds(AUTHORITY, NOW + timedelta(days=3650 - 397 - 2))
    assert not c.authority_holds(AUTHORITY, NOW + timedelta(days=3650 - 397 - 1))
    assert not c.authority_holds(c.Pair(b"no", b"no"), NOW)


def test_a_fingerprint_is_the_sha256_of_what_is_installed() -> None:
    from hashlib import sha256

    shown = c.fingerprint(AUTHORITY.certificate)
    assert shown.replace(" ", "") == sha256(c.as_der(AUTHORITY.certificate)).hexdigest().upper()
    assert len(shown.split()) == 16


def test_a_bundle_comes_apart_again() -> None:
    assert c.unbundle(c.bundle(AUTHORITY)) == AUTHORITY
    assert c.unbundle(b"rubbish").certificate == b""


def _meet(seal: Seal, host: str, store: bytes) -> str:
    """Shake hands as a device with the authority installed; return what went wrong, or nothing."""
    trusting = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    trusting.load_verify_locations(cadata=store.decode())
    ours, theirs = socket.socketpair()
    with ours, theirs:
        ours.settimeout(5)
        theirs.settimeout(5)

        def answer() -> None:
            try:
                seal.context.wrap_socket(theirs, server_side=True).close()
            except OSError:
                theirs.close()

        server = threading.Thread(target=answer)
        server.start()
        try:
            trusting.wrap_socket(ours, server_hostname=host).close()
        except ssl.SSLError as error:
            ours.close()
            return str(error)
        finally:
            server.join(5)
    return ""


def test_the_seal_is_kept_renewed_and_trusted_by_openssl(tmp_path: Path) -> None:
    clock = Clock(datetime.now(UTC))  # OpenSSL goes by the real time
    keeper = Doorkeeper(tmp_path / "garden.book", clock)
    seal = Seal(keeper)
    assert seal.refresh([LAPTOP], ["laptop.local"]) is False  # made now, so good
    assert _meet(seal, LAPTOP, seal.certificate()) == ""
    assert _meet(seal, "laptop.local", seal.certificate()) == ""
    assert "match" in _meet(seal, "bank.example", seal.certificate())
    again = Seal(keeper)
    assert again.certificate() == seal.certificate()
    assert again.refresh([LAPTOP], ["laptop.local"]) is False
    assert again.refresh(["192.168.7.7"], []) is True  # the address changed
    assert _meet(again, "192.168.7.7", seal.certificate()) == ""
    clock.wait(days=370)
    assert again.refresh(["192.168.7.7"], []) is True
    assert again.certificate() == seal.certificate()
    clock.wait(days=3300)
    assert Seal(keeper).certificate() != seal.certificate()


def test_addresses_that_are_not_of_home_are_left_out(tmp_path: Path) -> None:
    seal = Seal(Doorkeeper(tmp_path / "garden.book", Clock(datetime.now(UTC))))
    seal.refresh([LAPTOP, "203.0.113.9"], ["laptop.example"])
    assert _meet(seal, LAPTOP, seal.certificate()) == ""
    assert "match" in _meet(seal, "203.0.113.9", seal.certificate())

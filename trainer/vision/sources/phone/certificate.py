"""The certificate that lets a phone's browser use its camera: made at home at first use, kept in the data folder."""

from __future__ import annotations

import ipaddress
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trainer.errors import StoreError
from trainer.files import replace_file
from trainer.texts import tr

if TYPE_CHECKING:
    from cryptography.x509 import Certificate

FOLDER = "phone"
FILE = "certificate.pem"  # key and certificate, readable by its owner only
DAYS = 397  # browsers take none for longer than 398
RENEWED_DAYS = 30  # before its end
MOST_ADDRESSES = 8
NAME = "Putting trainer on this computer"


def kept_certificate(folder: Path, address: str, now: datetime) -> Path:
    """The file, made anew where there is none, it ends soon or another address is asked for. folder: of the data.

    Every address that it was made for before stays in it, so that it is not made anew at each change of place. Raises StoreError.
    """
    path = folder / FOLDER / FILE
    known = _addresses(path, now)
    if address in known:
        return path
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, _made([address, *known][:MOST_ADDRESSES], now))
    except OSError as error:
        raise StoreError(
            tr("cannot be written ({strerror})", strerror=error.strerror),
            str(path),
            tr("make room, or allow writing there"),
        ) from None
    return path


def fingerprint(path: Path) -> str:
    """Of the certificate, as browsers show it: SHA-256, in pairs."""
    from cryptography.hazmat.primitives import hashes

    return _read(path).fingerprint(hashes.SHA256()).hex(":").upper()


def _read(path: Path) -> Certificate:
    from cryptography import x509

    return x509.load_pem_x509_certificate(path.read_bytes())


def _addresses(path: Path, now: datetime) -> list[str]:
    """That the kept certificate is good for; none where it is missing, damaged or at its end."""
    from cryptography import x509

    try:
        found = _read(path)
        names: Any = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, x509.ExtensionNotFound):
        return []
    if not found.not_valid_before_utc <= now <= found.not_valid_after_utc - timedelta(days=RENEWED_DAYS):
        return []
    return [str(address) for address in names.get_values_for_type(x509.IPAddress)]


def _made(addresses: list[str], now: datetime) -> bytes:
    """A key of its own and a certificate that can vouch for nothing but these addresses."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, NAME)])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now.astimezone(timezone.utc) - timedelta(days=1))
        .not_valid_after(now.astimezone(timezone.utc) + timedelta(days=DAYS))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address(a)) for a in addresses]), critical=False
        )
        .sign(key, hashes.SHA256())
    )
    plain = serialization.NoEncryption()
    private = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)
    return private + made.public_bytes(serialization.Encoding.PEM)

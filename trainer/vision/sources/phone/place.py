"""Where the link is opened: this computer's address in the local network, and how a phone is told of it."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.errors import CameraError, UsageError
from trainer.texts import tr

if TYPE_CHECKING:
    import socket

AUTO = "auto"
TRIED_PORTS = 10  # the one asked for and those after it
NOWHERE = "192.0.2.1"  # of the range kept for documents: no packet is sent, it is asked which way one would go
JOIN = tr("join the network that the phone is in, or the phone's own hotspot")


@dataclass(frozen=True, slots=True)
class Link:
    """address: to be opened on the phone; qr: the same, True is dark, without a border."""

    address: str
    qr: tuple[tuple[bool, ...], ...]


def link_to(origin: str, secret: str) -> Link:
    """origin: https://HOST:PORT."""
    import segno

    address = f"{origin}/{secret}"
    code = segno.make_qr(address, error="m")
    return Link(address, tuple(tuple(bool(dot) for dot in row) for row in code.matrix))


def own_address(wanted: str = AUTO) -> str:
    """This computer's address in the local network; wanted: that one. Raises CameraError, UsageError."""
    if wanted != AUTO:
        try:
            chosen = ipaddress.IPv4Address(wanted)
        except ValueError:
            raise UsageError(
                tr("is no address"),
                tr("phone.address {wanted!r}", wanted=wanted),
                tr('give "auto" or one like 192.168.1.20'),
            ) from None
        if not is_local(wanted):
            raise UsageError(
                tr("is not in a local network"),
                tr("phone.address {chosen}", chosen=chosen),
                tr("the link is never opened to others"),
            )
        return str(chosen)
    import socket

    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
            asking.connect((NOWHERE, 9))
            found = str(asking.getsockname()[0])
    except OSError:
        raise CameraError(tr("this computer is in no network"), "phone", JOIN) from None
    if not is_local(found):
        raise CameraError(
            tr("{found} is an address of the open internet", found=found),
            "phone",
            tr("{join}; or set phone.address", join=JOIN),
        )
    return found


def is_local(address: str) -> bool:
    """Of a private network, or this machine's own; never of the internet at large."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return False
    return not found.is_unspecified and (found.is_private or found.is_link_local or found.is_loopback)


def listening(host: str, port: int) -> socket.socket:
    """A socket there, on that port or, where it is taken, one of the next; 0: any. Raises CameraError."""
    import errno
    import socket

    for tried in range(port, port + (TRIED_PORTS if port else 1)):
        try:
            return socket.create_server((host, tried), backlog=16)
        except OSError as error:
            if error.errno != errno.EADDRINUSE:
                why = error.strerror or str(error)
                raise CameraError(
                    tr("no link can be opened at {host} ({why})", host=host, why=why), "phone", tr("set phone.address")
                ) from None
    raise CameraError(
        tr("ports {port} to {port2} are taken", port=port, port2=port + TRIED_PORTS - 1), "phone", tr("set phone.port")
    ) from None

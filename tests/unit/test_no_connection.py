"""The check that nothing leaves the machine finds what would, in lines as strace writes them."""

from __future__ import annotations

import importlib.util

import pytest

from tests.support.paths import ROOT

spec = importlib.util.spec_from_file_location("no_connection", ROOT / ".ci" / "no_connection.py")
assert spec is not None
assert spec.loader is not None
checker = importlib.util.module_from_spec(spec)
spec.loader.exec_module(checker)

UNIX = [
    "7 socket(AF_UNIX, SOCK_STREAM|SOCK_CLOEXEC, 0) = 3",
    '7 connect(3, {sa_family=AF_UNIX, sun_path="/run/nscd/socket"}, 110) = -1 ENOENT (No such file or directory)',
]
LOOPBACK = [
    "8 socket(AF_INET, SOCK_STREAM, IPPROTO_IP) = 4",
    '8 getsockname(4, {sa_family=AF_INET, sin_port=htons(0), sin_addr=inet_addr("0.0.0.0")}, [16]) = 0',
    '8 bind(4, {sa_family=AF_INET, sin_port=htons(0), sin_addr=inet_addr("127.0.0.1")}, 16) = 0',
    '8 connect(5, {sa_family=AF_INET6, sin6_port=htons(9), inet_pton(AF_INET6, "::1", &sin6_addr)}, 28) = 0',
]
AWAY = [
    '9 connect(4, {sa_family=AF_INET, sin_port=htons(53), sin_addr=inet_addr("192.0.2.1")}, 16) = 0',
    '9 sendto(4, "x", 1, 0, {sa_family=AF_INET6, inet_pton(AF_INET6, "2001:db8::1", &sin6_addr)}, 28) = 1',
]


@pytest.mark.parametrize("line", AWAY)
@pytest.mark.parametrize("own_loopback", [True, False])
def test_an_address_elsewhere_is_found(line: str, own_loopback: bool) -> None:
    assert checker.suspicious([*UNIX, line], own_loopback) == [line]


def test_programs_of_this_machine_may_talk() -> None:
    assert checker.suspicious(UNIX, own_loopback=False) == []
    assert checker.suspicious([*UNIX, *LOOPBACK], own_loopback=True) == []


def test_any_network_socket_is_found_where_none_may_be() -> None:
    assert checker.suspicious([*UNIX, *LOOPBACK], own_loopback=False) == [LOOPBACK[0]]

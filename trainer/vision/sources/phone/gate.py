"""Who may link: whoever knows the secret. A wrong one gets nothing, later each time. Pure: the clock is handed in."""

from __future__ import annotations

import hmac
import secrets
from collections import OrderedDict

from trainer.vision.sources.base import Clock
from trainer.vision.sources.phone.messages import Malformed

SECRET_BYTES = 16  # 128 bits
LETTERS = "abcdefghijkmnpqrstuvwxyz23456789"  # 32, none of which is taken for another: no l, o, 0, 1
GROUP = 4
FIRST_DELAY_S, MOST_DELAY_S = 0.5, 8.0
FORGIVEN_S = 60.0
PEERS = 64  # remembered


def new_secret() -> str:
    """128 bits in 26 letters and digits, in groups for the eye."""
    number = int.from_bytes(secrets.token_bytes(SECRET_BYTES), "big")
    letters = ""
    while len(letters) * 5 < SECRET_BYTES * 8:
        number, digit = divmod(number, len(LETTERS))
        letters += LETTERS[digit]
    return "-".join(letters[k : k + GROUP] for k in range(0, len(letters), GROUP))


class Gate:
    """wrong: how often a wrong secret was tried."""

    def __init__(self, secret: str, clock: Clock) -> None:
        self._secret = secret.replace("-", "").encode()
        self._clock = clock
        self._wrong: OrderedDict[str, tuple[int, float]] = OrderedDict()
        self.wrong = 0

    def opens(self, path: str) -> bool:
        """Whether a request's path is the secret, typed with or without its hyphens. Compared in one time."""
        given = path[1:].replace("-", "").lower().encode("utf-8", "replace")
        return path.startswith("/") and hmac.compare_digest(given, self._secret)

    def refused(self, peer: str) -> float:
        """A wrong secret came from there. How long nothing is to be said (s): twice as long each time, up to a limit."""
        now_s = self._clock.now()
        self.wrong += 1
        times, last_s = self._wrong.pop(peer, (0, now_s))
        times = 1 if now_s - last_s > FORGIVEN_S else times + 1
        self._wrong[peer] = (times, now_s)
        while len(self._wrong) > PEERS:
            self._wrong.popitem(last=False)
        return float(min(FIRST_DELAY_S * 2 ** min(times - 1, 10), MOST_DELAY_S))


class Allowance:
    """So much a second, and as much at once."""

    def __init__(self, each_s: float, now_s: float) -> None:
        self._each_s = self._left = each_s
        self._at_s = now_s

    def take(self, amount: float, now_s: float) -> None:
        """Raises Malformed when it is used up."""
        self._left = min(self._each_s, self._left + self._each_s * (now_s - self._at_s)) - amount
        self._at_s = now_s
        if self._left < 0:
            raise Malformed("too much")

"""A source that waits for its user, a phone to be linked: shown in the window, told in lines, once each time. And its losses."""

from __future__ import annotations

from typing import Sequence

from trainer.domain.observation import Frame
from trainer.live.ports import Display, Reporter
from trainer.texts import join, tr
from trainer.vision.lost_frames import LostFrames
from trainer.vision.sources.base import Source, Waiting

LINK_LOOK_S = 0.05  # a loop that waits for a link looks at its keys so often
BLOCKS = {(False, False): "\N{FULL BLOCK}", (False, True): "\N{UPPER HALF BLOCK}",
          (True, False): "\N{LOWER HALF BLOCK}", (True, True): " "}  # fmt: skip
QUIET = 2  # empty dots around the code
LOST_HERE = tr("frames lost: body looked for less often")
LOST_ON_THE_WAY = tr("the link is slow: pictures are lost")


class TellsLosses:
    """``see`` every frame of the source; what its losses are to be called just now, "" where there are none."""

    def __init__(self, source: Source) -> None:
        self._source, self._lost = source, LostFrames()

    def see(self, frame: Frame) -> str:
        if not self._lost.see(frame):
            return ""
        return LOST_ON_THE_WAY if self._source.loses_on_the_way else LOST_HERE


class TellsLink:
    """sources: those of the run; display: shows the page that tells how to link, where it can show one."""

    def __init__(self, sources: Sequence[Source], reporter: Reporter | None, display: Display | None = None) -> None:
        self._sources, self._reporter = sources, reporter
        self._display = display if display is not None and display.visible else None
        self._told: dict[int, tuple[str, str]] = {}
        self._addresses_told: set[str] = set()

    def tell(self) -> bool:
        """Whether one of them waits; it is shown and told then."""
        for number, source in enumerate(self._sources):
            waiting = source.waiting()
            if waiting is None:
                if self._told.get(number, ("", ""))[0]:
                    self._told[number] = ("", "")
                    self._say([tr("{name}: pictures come", name=source.name)])
                continue
            words = (waiting.words, waiting.todo)
            if self._told.get(number) != words:
                self._told[number] = words
                self._say(self._lines(source.name, waiting))
            if self._display is not None:
                self._display.show(waiting)
            return True
        return False

    def _lines(self, name: str, waiting: Waiting) -> list[str]:
        lines = [tr("{name}: {words}; {todo}", name=name, words=waiting.words.lower(), todo=waiting.todo)]
        if waiting.address and waiting.address not in self._addresses_told:
            self._addresses_told.add(waiting.address)
            lines += [*(in_letters(waiting.qr) if self._display is None else ()), waiting.address]
        return lines

    def _say(self, lines: Sequence[str]) -> None:
        if self._reporter is not None:
            for line in lines:
                self._reporter.report(line)


def in_letters(qr: Sequence[Sequence[bool]]) -> list[str]:
    """The code for a terminal, two rows of dots in a line; light dots are drawn, for most terminals are dark."""
    size = len(qr) + 2 * QUIET
    dots = [[False] * size for _ in range(size + size % 2)]
    for y, row in enumerate(qr):
        dots[y + QUIET][QUIET : QUIET + len(row)] = row
    return [join("", (BLOCKS[pair] for pair in zip(dots[y], dots[y + 1]))) for y in range(0, len(dots), 2)]

"""Takes out of what was found in a picture all that touches the picture's edge, with where it went and what would help."""

from __future__ import annotations

import math
from typing import Any, Mapping

from trainer.domain.picture_edge import Edge, Size, edge_passed, out_advice, out_words
from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.body.points import HANDS
from trainer.vision.head.tracker import HeadReading
from trainer.vision.putter.tracker import PutterSeenImage

HEAD = ("nose", "left_ear", "right_ear")
FEET = ("left_ankle", "right_ankle", "left_heel", "right_heel", "left_toe", "right_toe")
PUTTER_SHARE = 0.03  # half of what must be seen of the putter's head, of its length from the hands: about 2 cm
FOUND_AGAIN = (
    0.5  # confidence: less, and what shows below the hands may be any line while the putter is out of the picture
)


class PictureEdges:
    """One for a run of frames. For each frame ``begin``, then what was found; then ``reasons`` and ``advice`` are its."""

    def __init__(self) -> None:
        self.reasons: dict[str, str] = {}
        self.advice: list[str] = []
        self._size: Size = (0.0, 0.0)
        self._putter_out: Edge | None = None

    def begin(self, size: Size) -> None:
        """size: width, height of the picture (px)."""
        self._size, self.reasons, self.advice = size, {}, []

    def body(self, points: Mapping[str, Any]) -> dict[str, Any]:
        """The points inside. Hands are both or neither: the middle of one wrist is another place."""
        if self._all_inside(points):
            return dict(points)
        out = {n: e for n, p in points.items() if (e := edge_passed(p[0], p[1], self._size)) is not None}
        for name, parts in (("head", HEAD), ("hands", HANDS), ("feet", FEET)):
            gone = [out[n] for n in parts if n in out]
            if gone:
                self._note(name, gone[0])
            if gone and name == "hands":
                out.update(dict.fromkeys(HANDS, gone[0]))
        return {n: p for n, p in points.items() if n not in out}

    def _all_inside(self, points: Mapping[str, Any]) -> bool:
        """Whether both corners of the box around the points are inside."""
        xs, ys = [p[0] for p in points.values()], [p[1] for p in points.values()]
        return bool(xs) and all(edge_passed(end(xs), end(ys), self._size) is None for end in (min, max))

    def head(self, head: HeadReading | None) -> HeadReading | None:
        """The head, if it is whole."""
        if head is None or "head" in self.reasons:
            return None
        edge = edge_passed(head.x, head.y, self._size, head.half_width)
        if edge is not None:
            self._note("head", edge)
        return head if edge is None else None

    def ball(self, ball: BallSeenImage | None) -> BallSeenImage | None:
        """The ball, if it is whole; one that rolls may leave."""
        edge = edge_passed(ball.x, ball.y, self._size, 0.5 * ball.diameter_px) if ball is not None else None
        if ball is None or edge is None:
            return ball
        self.reasons["ball"] = out_words("ball", edge)
        if ball.at_rest:
            self._note("ball", edge)
        return None

    def putter(self, putter: PutterSeenImage | None) -> PutterSeenImage | None:
        """The putter, if its head is in the picture. Once it has gone out it must be plain to be taken for it again."""
        if putter is not None:
            reach = PUTTER_SHARE * math.dist(putter.butt, putter.head)
            edge = edge_passed(*putter.head, self._size, reach)
            if edge is None and (self._putter_out is None or putter.confidence >= FOUND_AGAIN):
                self._putter_out = None
                return putter
            self._putter_out = edge or self._putter_out
        if self._putter_out is not None:
            self._note("putter", self._putter_out)
        return None

    def _note(self, name: str, edge: Edge) -> None:
        self.reasons[name] = out_words(name, edge)
        self.advice.append(out_advice(name, edge))

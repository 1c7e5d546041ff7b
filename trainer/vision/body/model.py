"""A packaged LiteRT model: one array in, arrays out."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.native_output import quiet
from trainer.resources import data_path

Floats = npt.NDArray[Any]  # of 32 or 64 bits

FAR = 80.0  # a logit beyond this is as good as certain, and its exponential still a number


def sigmoid(logits: Floats) -> Floats:
    """Scores 0..1."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(logits, -FAR, FAR))))


class Model:
    """Not for two threads at once."""

    def __init__(self, name: str, threads: int = 1) -> None:
        """name: of a file in ``_data/pose``. Handed over as bytes: LiteRT opens no path with letters beyond ASCII on Windows.

        threads: with one a frame costs the same whatever else the machine has; what it says is the same to the last bit with any.
        """
        content = data_path("pose", name).read_bytes()
        with quiet():
            from ai_edge_litert.interpreter import Interpreter

            self._interpreter: Any = Interpreter(model_content=content, num_threads=threads)
            self._interpreter.allocate_tensors()
        (entry,) = self._interpreter.get_input_details()
        self._input: int = entry["index"]
        self.input_side_px = int(entry["shape"][1])
        self._outputs: list[int] = [detail["index"] for detail in self._interpreter.get_output_details()]

    def run(self, picture: Floats, wanted: tuple[int, ...]) -> list[Floats]:
        """Copies of the outputs whose places are wanted. picture: (side, side, 3)."""
        self._interpreter.set_tensor(self._input, picture[None])
        self._interpreter.invoke()
        return [self._interpreter.get_tensor(self._outputs[place]) for place in wanted]

"""Putting trainer: a webcam watches the stroke, a tone marks the fault, a record keeps the habit honest."""

import os

__version__ = "0.2.0.dev0"

# Read once, when numpy and scipy are first imported, and so before anything else here. Our matrices are small: threads for them
# wait for each other at full speed, which made a frame of 640x480 take 23 ms of processor time for 14 (two cores).
for _name in ("OPENBLAS_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_name, "1")

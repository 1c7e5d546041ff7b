"""All that judging a clip needs, loaded with this module: processes that judge clips begin with it.

Nothing of it is ever garbage: collecting meanwhile would take a tenth of the time, and go through it again in each process.
"""

import gc

gc.disable()

import av  # noqa: E402, F401

import trainer.app.analyse  # noqa: E402, F401
from trainer.app import build  # noqa: E402

build.load_judging()
gc.freeze()
gc.enable()

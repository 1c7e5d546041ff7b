"""All that judging a clip needs, loaded with this module: processes that judge clips begin with it."""

import av  # noqa: F401

import trainer.app.analyse  # noqa: F401
from trainer.app import build

build.load_judging()

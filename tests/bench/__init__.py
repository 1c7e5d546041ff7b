"""Measurements: commands that write a table. The package comes first: what it sets is read when numpy is first imported."""

import trainer  # noqa: F401

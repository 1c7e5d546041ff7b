"""The start window: every task without a typed command."""

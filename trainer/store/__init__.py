"""The record on disk (SQLite)."""

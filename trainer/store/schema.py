"""The database's tables. Times s on the frames' own clock unless named _at (UTC, ISO 8601); NULL = not seen."""

from __future__ import annotations

SCHEMA_VERSION = 1
APPLICATION_ID = 0x70757474  # "putt": tells our file from any other SQLite database

TABLES = (
    """CREATE TABLE settings (
        id INTEGER PRIMARY KEY,
        body TEXT NOT NULL UNIQUE            -- JSON, as Settings.values() gives it
    )""",
    """CREATE TABLE sessions (
        id INTEGER PRIMARY KEY,
        started_at TEXT NOT NULL,
        player TEXT NOT NULL,
        source TEXT NOT NULL                 -- camera or clip
    )""",
    """CREATE TABLE strokes (
        id INTEGER PRIMARY KEY,
        session_id INTEGER NOT NULL REFERENCES sessions(id) ON DELETE CASCADE,
        number INTEGER NOT NULL,             -- in the session, from 1
        kept_at TEXT NOT NULL,
        kind TEXT NOT NULL,
        view TEXT NOT NULL,
        meta TEXT NOT NULL,                  -- JSON object of texts
        software TEXT NOT NULL,              -- version that judged it
        settings_id INTEGER NOT NULL REFERENCES settings(id),
        signals BLOB NOT NULL,               -- compressed npz: time_s, index, names, columns, view
        UNIQUE (session_id, number)
    )""",
    """CREATE TABLE events (
        stroke_id INTEGER NOT NULL REFERENCES strokes(id) ON DELETE CASCADE,
        place INTEGER NOT NULL,
        name TEXT NOT NULL,
        time_s REAL,
        PRIMARY KEY (stroke_id, place)
    ) WITHOUT ROWID""",
    """CREATE TABLE measures (
        stroke_id INTEGER NOT NULL REFERENCES strokes(id) ON DELETE CASCADE,
        place INTEGER NOT NULL,
        name TEXT NOT NULL,
        value REAL,
        unit TEXT NOT NULL,
        confidence REAL NOT NULL,
        reason TEXT NOT NULL,
        PRIMARY KEY (stroke_id, place)
    ) WITHOUT ROWID""",
    """CREATE TABLE faults (
        stroke_id INTEGER NOT NULL REFERENCES strokes(id) ON DELETE CASCADE,
        place INTEGER NOT NULL,
        name TEXT NOT NULL,
        at_s REAL NOT NULL,
        value REAL NOT NULL,
        unit TEXT NOT NULL,
        limit_value REAL NOT NULL,
        PRIMARY KEY (stroke_id, place)
    ) WITHOUT ROWID""",
    """CREATE TABLE cues (
        stroke_id INTEGER NOT NULL REFERENCES strokes(id) ON DELETE CASCADE,
        place INTEGER NOT NULL,
        name TEXT NOT NULL,
        at_s REAL NOT NULL,
        PRIMARY KEY (stroke_id, place)
    ) WITHOUT ROWID""",
)

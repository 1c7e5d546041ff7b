"""The database's tables. Times s on the frames' own clock unless named _at (UTC, ISO 8601); NULL = not seen."""

from __future__ import annotations

SCHEMA_VERSION = 11
APPLICATION_ID = 0x70757474  # "putt": tells our file from any other SQLite database

# The tables of version 1; a new record gets these, then every change below.
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

# Version -> what leads to it from the one before. Distances m, green speeds (stimp_ft) ft as a sign says, slopes % (+ uphill).
CHANGES: dict[int, tuple[str, ...]] = {
    2: (
        """CREATE TABLE distance_players (
            player TEXT PRIMARY KEY,
            unit TEXT NOT NULL,                  -- m or ft: what the player enters and reads
            trail_foot_cm REAL NOT NULL          -- from the ball back to the middle of the trail foot
        ) WITHOUT ROWID""",
        """CREATE TABLE distance_greens (
            id INTEGER PRIMARY KEY,
            player TEXT NOT NULL,
            kept_at TEXT NOT NULL,
            stimp_ft REAL NOT NULL,
            low_ft REAL NOT NULL,
            high_ft REAL NOT NULL,
            source TEXT NOT NULL
        )""",
        """CREATE TABLE distance_putts (
            id INTEGER PRIMARY KEY,
            player TEXT NOT NULL,
            kept_at TEXT NOT NULL,
            stroke_id INTEGER UNIQUE REFERENCES strokes(id) ON DELETE SET NULL,
            back_cm REAL NOT NULL,
            rolled_m REAL NOT NULL,
            stimp_ft REAL NOT NULL,
            slope_pct REAL NOT NULL,
            target_m REAL,
            back_s REAL,
            to_impact_s REAL,
            ball_speed_m_s REAL,
            rounded_to_m REAL NOT NULL,
            frames_per_s REAL                    -- of the camera that timed it
        )""",
        "CREATE INDEX distance_putts_player ON distance_putts (player, id)",
    ),
    # uid: made once, the same on every machine that a session or stroke is handed to.
    3: (
        "ALTER TABLE sessions ADD COLUMN uid TEXT",
        "ALTER TABLE sessions ADD COLUMN student TEXT",  # the student's id; NULL: only the name is known
        "UPDATE sessions SET uid = lower(hex(randomblob(16)))",
        "CREATE UNIQUE INDEX sessions_uid ON sessions (uid)",
        "CREATE INDEX sessions_student ON sessions (student)",
        "CREATE INDEX sessions_player ON sessions (player)",
        "ALTER TABLE strokes ADD COLUMN uid TEXT",
        "ALTER TABLE strokes ADD COLUMN told INTEGER",  # 1: the player was told how it was; 0: not; NULL: not known
        "ALTER TABLE strokes ADD COLUMN drill TEXT",  # the drill's id; NULL: free practice
        "ALTER TABLE strokes ADD COLUMN stage TEXT",  # of the drill: block or silent
        "ALTER TABLE strokes ADD COLUMN turns BLOB",  # the signals that judging needs, quick to read; NULL: see signals
        "UPDATE strokes SET uid = lower(hex(randomblob(16)))",
        "CREATE UNIQUE INDEX strokes_uid ON strokes (uid)",
        """CREATE TABLE limit_changes (
            uid TEXT PRIMARY KEY,
            student TEXT NOT NULL,
            at TEXT NOT NULL,
            who TEXT NOT NULL,
            why TEXT NOT NULL,
            body TEXT NOT NULL                   -- JSON: the limits from then on, as Settings.values() gives them
        ) WITHOUT ROWID""",
        "CREATE INDEX limit_changes_student ON limit_changes (student, at)",
    ),
    4: (
        "ALTER TABLE strokes ADD COLUMN felt INTEGER",
    ),  # the player said before the result: 1 good, 0 not; NULL: nothing
    # A stroke's circumstances: columns in place of the JSON map (``database`` lends the functions).
    5: (
        "ALTER TABLE strokes ADD COLUMN camera TEXT",  # first or second; NULL: there was one
        "ALTER TABLE strokes ADD COLUMN other_session INTEGER",  # the same stroke as the other camera saw it
        "ALTER TABLE strokes ADD COLUMN other_stroke INTEGER",
        "ALTER TABLE strokes ADD COLUMN other_offset_ms REAL",
        "ALTER TABLE strokes ADD COLUMN track TEXT",  # putter, hands or none
        "ALTER TABLE strokes ADD COLUMN look_deg REAL",
        "ALTER TABLE strokes ADD COLUMN impact_warning TEXT",
        "UPDATE strokes SET told = coalesce(told, from_meta(meta, 'told')), camera = from_meta(meta, 'camera'),"
        " other_session = from_meta(meta, 'other_session'), other_stroke = from_meta(meta, 'other_stroke'),"
        " other_offset_ms = from_meta(meta, 'other_offset_ms'), track = from_meta(meta, 'track'),"
        " look_deg = from_meta(meta, 'look_deg'), impact_warning = from_meta(meta, 'impact_warning')",
        "ALTER TABLE strokes DROP COLUMN meta",
    ),
    # A stroke may have a measured and an estimated roll-out; greens and putts go from machine to machine; exports are noted.
    6: (
        """CREATE TABLE distance_putts_6 (
            id INTEGER PRIMARY KEY,
            player TEXT NOT NULL,
            kept_at TEXT NOT NULL,
            stroke_id INTEGER REFERENCES strokes(id) ON DELETE SET NULL,
            back_cm REAL NOT NULL,
            rolled_m REAL NOT NULL,
            stimp_ft REAL NOT NULL,
            slope_pct REAL NOT NULL,
            target_m REAL,
            back_s REAL,
            to_impact_s REAL,
            ball_speed_m_s REAL,
            rounded_to_m REAL NOT NULL,
            frames_per_s REAL,
            estimated INTEGER NOT NULL,          -- 1: from the ball's speed; 0: measured
            uid TEXT NOT NULL UNIQUE,
            UNIQUE (stroke_id, estimated)
        )""",
        "INSERT INTO distance_putts_6 SELECT id, player, kept_at, stroke_id, back_cm, rolled_m, stimp_ft, slope_pct,"
        " target_m, back_s, to_impact_s, ball_speed_m_s, rounded_to_m, frames_per_s,"
        " is_estimate(rolled_m, stimp_ft, slope_pct, ball_speed_m_s), lower(hex(randomblob(16))) FROM distance_putts",
        "DROP TABLE distance_putts",
        "ALTER TABLE distance_putts_6 RENAME TO distance_putts",
        "CREATE INDEX distance_putts_player ON distance_putts (player, id)",
        "ALTER TABLE distance_greens ADD COLUMN uid TEXT",
        "UPDATE distance_greens SET uid = lower(hex(randomblob(16)))",
        "CREATE UNIQUE INDEX distance_greens_uid ON distance_greens (uid)",
        """CREATE TABLE exports (
            id INTEGER PRIMARY KEY,
            student TEXT NOT NULL,
            at TEXT NOT NULL,
            path TEXT NOT NULL,                  -- where it was written
            body TEXT NOT NULL                   -- JSON list: uids of strokes, greens and putts, names of postures
        )""",
        "CREATE INDEX exports_student ON exports (student, id)",
    ),
    # Teaching. student: the id, or the name of one who has none; days are local dates, ISO 8601.
    7: (
        """CREATE TABLE reasons_shown (
            student TEXT NOT NULL,
            card TEXT NOT NULL,                  -- a fault's name
            at TEXT NOT NULL,
            PRIMARY KEY (student, card)
        ) WITHOUT ROWID""",
        """CREATE TABLE homework (
            uid TEXT PRIMARY KEY,
            student TEXT NOT NULL,
            set_at TEXT NOT NULL,
            who TEXT NOT NULL,
            drill TEXT NOT NULL,
            distance_m REAL,                     -- of the putts; NULL: not said
            strokes INTEGER NOT NULL,            -- of a day
            days_a_week INTEGER NOT NULL,
            from_day TEXT NOT NULL,
            until_day TEXT NOT NULL,
            note TEXT NOT NULL,
            dropped_at TEXT                      -- NULL: it stands
        ) WITHOUT ROWID""",
        "CREATE INDEX homework_student ON homework (student, set_at)",
        """CREATE TABLE lessons (
            uid TEXT PRIMARY KEY,
            student TEXT NOT NULL,
            begun_at TEXT NOT NULL,
            changed_at TEXT NOT NULL,
            who TEXT NOT NULL,
            before_session TEXT,                 -- uids of the sessions of strokes as they are, blanks between
            after_session TEXT,                  -- uids of those of the same strokes again
            priority TEXT,                       -- a fault's name, or what the coach called it
            priority_by TEXT NOT NULL,           -- trainer or coach
            why TEXT NOT NULL,
            later TEXT NOT NULL,                 -- JSON: names, in order
            words TEXT NOT NULL,                 -- the coach's, to take home
            homework TEXT,                       -- uid
            ended_at TEXT                        -- NULL: under way
        ) WITHOUT ROWID""",
        "CREATE INDEX lessons_student ON lessons (student, begun_at)",
        """CREATE TABLE lesson_tries (
            uid TEXT PRIMARY KEY,
            lesson TEXT NOT NULL REFERENCES lessons(uid) ON DELETE CASCADE,
            at TEXT NOT NULL,
            note TEXT NOT NULL,
            stroke TEXT,                         -- uid of a kept stroke
            picture TEXT                         -- name of a kept posture
        ) WITHOUT ROWID""",
        "CREATE INDEX lesson_tries_lesson ON lesson_tries (lesson, at)",
    ),
    8: (
        """CREATE TABLE outcomes (
            stroke TEXT PRIMARY KEY REFERENCES strokes(uid) ON DELETE CASCADE,
            went TEXT NOT NULL,                  -- holed, or where the ball missed
            putt_m REAL,                         -- NULL: not said
            at TEXT NOT NULL                     -- when that was said
        ) WITHOUT ROWID""",
    ),
    # What no share may count.
    9: (
        "ALTER TABLE strokes ADD COLUMN good INTEGER",  # by its drill's rule: 1, 0; NULL: in no drill, not judged, not known
        "ALTER TABLE strokes ADD COLUMN unsure TEXT",  # faults that could not be judged, blanks between; NULL: not known
    ),
    10: (
        "ALTER TABLE distance_putts ADD COLUMN guess TEXT",
    ),  # short, right, long: said before it was told; NULL: not asked
    # What was put right here, for imports of files from before.
    11: (
        """CREATE TABLE removed_strokes (
            stroke TEXT PRIMARY KEY,             -- uid; it is not taken in again
            student TEXT NOT NULL,               -- whose it was: the id, or the name of one who has none
            at TEXT NOT NULL
        ) WITHOUT ROWID""",
        """CREATE TABLE student_ids (
            id TEXT PRIMARY KEY,                 -- another one of a student: of one who was joined, or on another computer
            student TEXT NOT NULL                -- the id here
        ) WITHOUT ROWID""",
    ),
}

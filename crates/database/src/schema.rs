//! The form of the SQLite database, one migration a version. A migration that was published is never changed.

/// "FALR" as a number: marks a file as one of this program (`PRAGMA application_id`).
pub(crate) const APPLICATION_ID: i32 = 0x4641_4c52;

/// Everything of version 1.
const FORM_1: &str = r"
PRAGMA application_id = 1178684498;

CREATE TABLE meta (
    name  TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;

-- Sealed lines, only ever added.
CREATE TABLE entries (
    stream    TEXT NOT NULL,
    n         INTEGER NOT NULL CHECK (n >= 1),
    hash      TEXT NOT NULL CHECK (length(hash) = 64),
    line      TEXT NOT NULL,
    client_id TEXT UNIQUE,
    UNIQUE (stream, n)
) STRICT;
CREATE TRIGGER entries_are_never_changed BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;
CREATE TRIGGER entries_are_never_deleted BEFORE DELETE ON entries
BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;
-- 'INSERT OR REPLACE' would delete without asking the trigger above.
CREATE TRIGGER entries_are_added_at_the_end BEFORE INSERT ON entries
WHEN NEW.n <> (SELECT coalesce(max(n), 0) + 1 FROM entries WHERE stream = NEW.stream)
  OR EXISTS (SELECT 1 FROM entries WHERE client_id = NEW.client_id)
BEGIN SELECT RAISE(ABORT, 'entries are only added'); END;

CREATE TABLE files (
    sha256 TEXT NOT NULL PRIMARY KEY CHECK (length(sha256) = 64),
    bytes  BLOB NOT NULL
) STRICT;
CREATE TRIGGER files_are_never_changed BEFORE UPDATE ON files
BEGIN SELECT RAISE(ABORT, 'files are only added'); END;
CREATE TRIGGER files_are_never_deleted BEFORE DELETE ON files
BEGIN SELECT RAISE(ABORT, 'files are only added'); END;
CREATE TRIGGER files_are_never_replaced BEFORE INSERT ON files
WHEN EXISTS (SELECT 1 FROM files WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'files are only added'); END;

-- Computed from the entries; can be thrown away and computed anew.
CREATE TABLE batches (
    id         TEXT NOT NULL PRIMARY KEY,
    cabinet    TEXT NOT NULL,
    opened_at  INTEGER NOT NULL,
    opened_on  TEXT NOT NULL,
    answer     TEXT,
    released   INTEGER NOT NULL,
    keep_until TEXT,
    words      TEXT NOT NULL,
    row        TEXT NOT NULL
) STRICT;
CREATE INDEX batches_by_time ON batches (opened_at DESC, id);

CREATE TABLE heartbeat (
    id      INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    at      INTEGER NOT NULL,
    stopped INTEGER NOT NULL
) STRICT;

CREATE TABLE accounts (
    name          TEXT NOT NULL PRIMARY KEY,
    full_name     TEXT NOT NULL,
    role          TEXT NOT NULL,
    password_hash TEXT,
    pin_hash      TEXT,
    training      TEXT,
    active        INTEGER NOT NULL,
    created_at    INTEGER NOT NULL,
    refused       INTEGER NOT NULL,
    locked_until  INTEGER
) STRICT;

CREATE TABLE sessions (
    token_sha256 TEXT NOT NULL PRIMARY KEY,
    account      TEXT NOT NULL,
    created_at   INTEGER NOT NULL,
    seen_at      INTEGER NOT NULL,
    expires_at   INTEGER NOT NULL,
    device       TEXT NOT NULL,
    by_pin       INTEGER NOT NULL
) STRICT;
CREATE INDEX sessions_by_account ON sessions (account);
";

/// The versions in order; the first is version 1.
pub(crate) const FORMS: [&str; 1] = [FORM_1];

//! Every statement of the PostgreSQL database.

/// Everything of version 1.
pub(crate) const FORM_1: &str = r"
CREATE TABLE meta (
    name  text PRIMARY KEY,
    value text NOT NULL
);

-- Sealed lines, only ever added.
CREATE TABLE entries (
    stream    text   NOT NULL,
    n         bigint NOT NULL CHECK (n >= 1),
    hash      text   NOT NULL CHECK (length(hash) = 64),
    line      text   NOT NULL,
    client_id text   UNIQUE,
    PRIMARY KEY (stream, n)
);
CREATE TABLE files (
    sha256 text  PRIMARY KEY CHECK (length(sha256) = 64),
    bytes  bytea NOT NULL
);
CREATE FUNCTION only_added() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '% are only added', TG_TABLE_NAME; END $$;
CREATE TRIGGER entries_are_never_changed BEFORE UPDATE OR DELETE ON entries
    FOR EACH ROW EXECUTE FUNCTION only_added();
CREATE TRIGGER entries_are_never_cleared BEFORE TRUNCATE ON entries
    FOR EACH STATEMENT EXECUTE FUNCTION only_added();
CREATE TRIGGER files_are_never_changed BEFORE UPDATE OR DELETE ON files
    FOR EACH ROW EXECUTE FUNCTION only_added();
CREATE TRIGGER files_are_never_cleared BEFORE TRUNCATE ON files
    FOR EACH STATEMENT EXECUTE FUNCTION only_added();

-- Computed from the entries; can be thrown away and computed anew.
CREATE TABLE batches (
    id         text PRIMARY KEY,
    cabinet    text    NOT NULL,
    opened_at  bigint  NOT NULL,
    opened_on  text    NOT NULL,
    answer     text,
    released   boolean NOT NULL,
    keep_until text,
    words      text    NOT NULL,
    row_json   text    NOT NULL
);
CREATE INDEX batches_by_time ON batches (opened_at DESC, id);

CREATE TABLE heartbeat (
    id      integer PRIMARY KEY CHECK (id = 1),
    at      bigint  NOT NULL,
    stopped boolean NOT NULL
);

CREATE TABLE accounts (
    name          text PRIMARY KEY,
    full_name     text    NOT NULL,
    role          text    NOT NULL,
    password_hash text,
    pin_hash      text,
    training      text,
    active        boolean NOT NULL,
    created_at    bigint  NOT NULL,
    refused       bigint  NOT NULL,
    locked_until  bigint
);

CREATE TABLE sessions (
    token_sha256 text PRIMARY KEY,
    account      text    NOT NULL,
    created_at   bigint  NOT NULL,
    seen_at      bigint  NOT NULL,
    expires_at   bigint  NOT NULL,
    device       text    NOT NULL,
    by_pin       boolean NOT NULL
);
CREATE INDEX sessions_by_account ON sessions (account);
";

/// The versions in order; the first is version 1.
pub(crate) const FORMS: [&str; 1] = [FORM_1];

pub(crate) const ENCODING: &str = "SHOW server_encoding";
// Whoever makes or changes the tables holds this lock to the end of the transaction ('FALR' as a number).
pub(crate) const LOCK_FORM: &str = "SELECT pg_advisory_xact_lock(1178684498)";
pub(crate) const TABLES: &str =
    "SELECT count(*) FROM pg_catalog.pg_tables WHERE schemaname = current_schema()";
pub(crate) const HAS_META: &str =
    "SELECT to_regclass('meta') IS NOT NULL AND to_regclass('entries') IS NOT NULL";
pub(crate) const META: &str = "SELECT value FROM meta WHERE name = $1";
pub(crate) const SET_META: &str =
    "INSERT INTO meta (name, value) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET value = $2";

// One writer at a time, as in a SQLite file; readers go on.
pub(crate) const LOCK_ENTRIES: &str = "LOCK TABLE entries IN SHARE ROW EXCLUSIVE MODE";
pub(crate) const LAST: &str = "SELECT n, hash FROM entries WHERE stream = $1 ORDER BY n DESC LIMIT 1";
pub(crate) const ADD_ENTRY: &str =
    "INSERT INTO entries (stream, n, hash, line, client_id) VALUES ($1, $2, $3, $4, $5)";
pub(crate) const LINES: &str = "SELECT line FROM entries WHERE stream = $1 ORDER BY n";
pub(crate) const PLACE: &str = "SELECT stream, n FROM entries WHERE client_id = $1";
pub(crate) const CLIENT_IDS: &str = "SELECT client_id, stream, n FROM entries WHERE client_id IS NOT NULL
    ORDER BY stream COLLATE \"C\", n";
pub(crate) const HEADS: &str = "SELECT DISTINCT ON (stream COLLATE \"C\") stream, n, hash FROM entries
    WHERE $1 = '' OR starts_with(stream, $1 || '/') ORDER BY stream COLLATE \"C\", n DESC";

pub(crate) const ADD_FILE: &str =
    "INSERT INTO files (sha256, bytes) VALUES ($1, $2) ON CONFLICT (sha256) DO NOTHING";
pub(crate) const FILE: &str = "SELECT bytes FROM files WHERE sha256 = $1";
pub(crate) const HAS_FILE: &str = "SELECT 1 FROM files WHERE sha256 = $1";

pub(crate) const PUT_ROW: &str = "INSERT INTO batches
    (id, cabinet, opened_at, opened_on, answer, released, keep_until, words, row_json)
    VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
    ON CONFLICT (id) DO UPDATE SET cabinet = $2, opened_at = $3, opened_on = $4, answer = $5, released = $6,
    keep_until = $7, words = $8, row_json = $9";
pub(crate) const DROP_ROWS: &str = "DELETE FROM batches";
pub(crate) const BATCHES: &str = "SELECT row_json FROM batches
    WHERE ($1::text IS NULL OR cabinet = $1)
      AND ($2::text IS NULL OR opened_on >= $2)
      AND ($3::text IS NULL OR opened_on <= $3)
      AND ($4::text IS NULL OR coalesce(answer, 'none') = $4)
      AND ($5::boolean IS NULL OR released = $5)
      AND ($6::text IS NULL OR keep_until < $6)
      AND NOT EXISTS (SELECT 1 FROM unnest($7::text[]) AS w(word) WHERE strpos(words, w.word) = 0)
    ORDER BY opened_at DESC, id COLLATE \"C\" LIMIT $8 OFFSET $9";

pub(crate) const HEARTBEAT: &str = "SELECT at, stopped FROM heartbeat";
pub(crate) const SET_HEARTBEAT: &str = "INSERT INTO heartbeat (id, at, stopped) VALUES (1, $1, $2)
    ON CONFLICT (id) DO UPDATE SET at = $1, stopped = $2";

pub(crate) const ACCOUNTS: &str = "SELECT name, full_name, role, password_hash, pin_hash, training, active,
    created_at, refused, locked_until FROM accounts ORDER BY name COLLATE \"C\"";
pub(crate) const PUT_ACCOUNT: &str = "INSERT INTO accounts (name, full_name, role, password_hash, pin_hash,
    training, active, created_at, refused, locked_until) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
    ON CONFLICT (name) DO UPDATE SET full_name = $2, role = $3, password_hash = $4, pin_hash = $5, training = $6,
    active = $7, created_at = $8, refused = $9, locked_until = $10";
pub(crate) const PUT_SESSION: &str = "INSERT INTO sessions
    (token_sha256, account, created_at, seen_at, expires_at, device, by_pin) VALUES ($1, $2, $3, $4, $5, $6, $7)
    ON CONFLICT (token_sha256) DO UPDATE SET account = $2, created_at = $3, seen_at = $4, expires_at = $5,
    device = $6, by_pin = $7";
pub(crate) const SESSION: &str = "SELECT account, created_at, seen_at, expires_at, device, by_pin
    FROM sessions WHERE token_sha256 = $1";
pub(crate) const END_SESSION: &str = "DELETE FROM sessions WHERE token_sha256 = $1";
pub(crate) const END_SESSIONS_OF: &str = "DELETE FROM sessions WHERE account = $1";
pub(crate) const END_EXPIRED: &str = "DELETE FROM sessions WHERE expires_at < $1";

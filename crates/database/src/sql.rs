//! Every statement of the SQLite database. A test prepares each against a freshly migrated one.

pub(crate) const TABLES: &str = "SELECT count(*) FROM sqlite_schema";
pub(crate) const REALM: &str = "SELECT value FROM meta WHERE name = 'realm'";
pub(crate) const SET_REALM: &str = "INSERT INTO meta (name, value) VALUES ('realm', ?1)";

pub(crate) const LAST: &str = "SELECT n, hash FROM entries WHERE stream = ?1 ORDER BY n DESC LIMIT 1";
pub(crate) const ADD_ENTRY: &str =
    "INSERT INTO entries (stream, n, hash, line, client_id) VALUES (?1, ?2, ?3, ?4, ?5)";
pub(crate) const LINES: &str = "SELECT line FROM entries WHERE stream = ?1 ORDER BY n";
pub(crate) const PLACE: &str = "SELECT stream, n FROM entries WHERE client_id = ?1";
pub(crate) const CLIENT_IDS: &str =
    "SELECT client_id, stream, n FROM entries WHERE client_id IS NOT NULL ORDER BY stream, n";
// The first part of a name ends at its first '/': all names of it stand between 'part/' and 'part0'.
pub(crate) const HEADS: &str = "SELECT e.stream, e.n, e.hash FROM entries e
    JOIN (SELECT stream, max(n) AS n FROM entries
          WHERE ?1 = '' OR (stream >= ?1 || '/' AND stream < ?1 || '0') GROUP BY stream) last
    ON e.stream = last.stream AND e.n = last.n ORDER BY e.stream";

pub(crate) const ADD_FILE: &str = "INSERT INTO files (sha256, bytes)
    SELECT ?1, ?2 WHERE NOT EXISTS (SELECT 1 FROM files WHERE sha256 = ?1)";
pub(crate) const FILE: &str = "SELECT bytes FROM files WHERE sha256 = ?1";
pub(crate) const HAS_FILE: &str = "SELECT 1 FROM files WHERE sha256 = ?1";

pub(crate) const PUT_ROW: &str = "INSERT OR REPLACE INTO batches
    (id, cabinet, opened_at, opened_on, answer, released, keep_until, words, row)
    VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)";
pub(crate) const DROP_ROWS: &str = "DELETE FROM batches";
pub(crate) const BATCHES: &str = "SELECT row FROM batches
    WHERE (?1 IS NULL OR cabinet = ?1)
      AND (?2 IS NULL OR opened_on >= ?2)
      AND (?3 IS NULL OR opened_on <= ?3)
      AND (?4 IS NULL OR coalesce(answer, 'none') = ?4)
      AND (?5 IS NULL OR released = ?5)
      AND (?6 IS NULL OR keep_until < ?6)
      AND NOT EXISTS (SELECT 1 FROM json_each(?7) w WHERE instr(words, w.value) = 0)
    ORDER BY opened_at DESC, id LIMIT ?8 OFFSET ?9";

pub(crate) const HEARTBEAT: &str = "SELECT at, stopped FROM heartbeat";
pub(crate) const SET_HEARTBEAT: &str =
    "INSERT OR REPLACE INTO heartbeat (id, at, stopped) VALUES (1, ?1, ?2)";

pub(crate) const ACCOUNTS: &str = "SELECT name, full_name, role, password_hash, pin_hash, training, active,
    created_at, refused, locked_until FROM accounts ORDER BY name";
pub(crate) const PUT_ACCOUNT: &str = "INSERT OR REPLACE INTO accounts (name, full_name, role, password_hash,
    pin_hash, training, active, created_at, refused, locked_until)
    VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)";
pub(crate) const PUT_SESSION: &str = "INSERT OR REPLACE INTO sessions
    (token_sha256, account, created_at, seen_at, expires_at, device, by_pin)
    VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
pub(crate) const SESSION: &str =
    "SELECT token_sha256, account, created_at, seen_at, expires_at, device, by_pin
    FROM sessions WHERE token_sha256 = ?1";
pub(crate) const END_SESSION: &str = "DELETE FROM sessions WHERE token_sha256 = ?1";
pub(crate) const END_SESSIONS_OF: &str = "DELETE FROM sessions WHERE account = ?1";
pub(crate) const END_EXPIRED: &str = "DELETE FROM sessions WHERE expires_at < ?1";

/// All of them.
#[cfg(test)]
pub(crate) const ALL: [&str; 24] = [
    TABLES,
    REALM,
    SET_REALM,
    LAST,
    ADD_ENTRY,
    LINES,
    PLACE,
    CLIENT_IDS,
    HEADS,
    ADD_FILE,
    FILE,
    HAS_FILE,
    PUT_ROW,
    DROP_ROWS,
    BATCHES,
    HEARTBEAT,
    SET_HEARTBEAT,
    ACCOUNTS,
    PUT_ACCOUNT,
    PUT_SESSION,
    SESSION,
    END_SESSION,
    END_SESSIONS_OF,
    END_EXPIRED,
];

#[cfg(test)]
mod tests {
    use super::ALL;

    #[test]
    fn identity_every_statement_prepares_against_a_fresh_database() {
        let mut connection = rusqlite::Connection::open_in_memory().unwrap();
        crate::open::migrations().to_latest(&mut connection).unwrap();
        for sql in ALL {
            connection.prepare(sql).unwrap_or_else(|e| panic!("{sql}: {e}"));
        }
    }

    #[test]
    fn identity_every_statement_is_in_the_list() {
        let source = include_str!("sql.rs");
        let statements = source.lines().filter(|l| l.starts_with("pub(crate) const ") && !l.contains("ALL"));
        assert_eq!(statements.count(), ALL.len());
        // No statement stands anywhere else in the crate.
        for (file, text) in [
            ("sqlite.rs", include_str!("sqlite.rs")),
            ("sqlite_accounts.rs", include_str!("sqlite_accounts.rs")),
            ("open.rs", include_str!("open.rs")),
            ("backup.rs", include_str!("backup.rs")),
        ] {
            for word in ["\"SELECT ", "\"INSERT ", "\"UPDATE ", "\"DELETE FROM"] {
                assert!(!text.contains(word), "{file}: {word}");
            }
        }
    }
}

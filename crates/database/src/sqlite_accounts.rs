//! Accounts and sessions in a SQLite file.

use fallrate_series::Instant;
use fallrate_store::{Account, AccountRole, Accounts, Digest, RecordsError, Session};
use rusqlite::{OptionalExtension, Row, params};

use crate::fault::damaged;
use crate::sqlite::{digest, number, signed};
use crate::{SqliteRecords, sql};

const ROLES: [(AccountRole, &str); 3] = [
    (AccountRole::Operator, "operator"),
    (AccountRole::Supervisor, "supervisor"),
    (AccountRole::Reader, "reader"),
];

pub(crate) fn role_word(role: AccountRole) -> &'static str {
    ROLES.into_iter().find(|(r, _)| *r == role).map_or("reader", |(_, word)| word)
}

pub(crate) fn role_from(word: &str) -> Result<AccountRole, RecordsError> {
    let found = ROLES.into_iter().find(|(_, w)| *w == word).map(|(role, _)| role);
    found.ok_or_else(|| damaged(format!("role '{word}'")))
}

/// The fields of an account in which something may be wrong.
type AccountRow = (Account, String, i64);

fn account(row: &Row<'_>) -> rusqlite::Result<AccountRow> {
    let account = Account {
        name: row.get(0)?,
        full_name: row.get(1)?,
        role: AccountRole::Reader,
        password_hash: row.get(3)?,
        pin_hash: row.get(4)?,
        training: row.get(5)?,
        active: row.get(6)?,
        created_at: Instant::from_unix_nanoseconds(row.get(7)?),
        refused: 0,
        locked_until: row.get::<_, Option<i64>>(9)?.map(Instant::from_unix_nanoseconds),
    };
    Ok((account, row.get(2)?, row.get(8)?))
}

impl SqliteRecords {
    fn changed(
        &mut self,
        what: &'static str,
        sql: &str,
        with: impl rusqlite::Params,
    ) -> Result<u64, RecordsError> {
        let failed = self.failed(what);
        let transaction = self.connection.transaction().map_err(&failed)?;
        let count = transaction.execute(sql, with).map_err(&failed)?;
        transaction.commit().map_err(&failed)?;
        Ok(count as u64)
    }
}

impl Accounts for SqliteRecords {
    fn accounts(&mut self) -> Result<Vec<Account>, RecordsError> {
        let failed = self.failed("read the accounts");
        let mut statement = self.connection.prepare_cached(sql::ACCOUNTS).map_err(&failed)?;
        let rows: Vec<AccountRow> =
            statement.query_map([], account).and_then(Iterator::collect).map_err(&failed)?;
        let whole = |(account, role, refused): AccountRow| {
            Ok(Account { role: role_from(&role)?, refused: number(refused)?, ..account })
        };
        rows.into_iter().map(whole).collect()
    }

    fn put_account(&mut self, a: &Account) -> Result<(), RecordsError> {
        let with = params![
            a.name,
            a.full_name,
            role_word(a.role),
            a.password_hash,
            a.pin_hash,
            a.training,
            a.active,
            a.created_at.unix_nanoseconds(),
            signed(a.refused),
            a.locked_until.map(Instant::unix_nanoseconds),
        ];
        self.changed("keep an account", sql::PUT_ACCOUNT, with).map(|_| ())
    }

    fn put_session(&mut self, s: &Session) -> Result<(), RecordsError> {
        let with = params![
            s.token_sha256.to_string(),
            s.account,
            s.created_at.unix_nanoseconds(),
            s.seen_at.unix_nanoseconds(),
            s.expires_at.unix_nanoseconds(),
            s.device,
            s.by_pin,
        ];
        self.changed("keep a session", sql::PUT_SESSION, with).map(|_| ())
    }

    fn session(&mut self, token_sha256: Digest) -> Result<Option<Session>, RecordsError> {
        let read = |row: &Row<'_>| {
            let session = Session {
                token_sha256,
                account: row.get(1)?,
                created_at: Instant::from_unix_nanoseconds(row.get(2)?),
                seen_at: Instant::from_unix_nanoseconds(row.get(3)?),
                expires_at: Instant::from_unix_nanoseconds(row.get(4)?),
                device: row.get(5)?,
                by_pin: row.get(6)?,
            };
            Ok((session, row.get::<_, String>(0)?))
        };
        let failed = self.failed("read a session");
        let mut statement = self.connection.prepare_cached(sql::SESSION).map_err(&failed)?;
        let found = statement.query_row([token_sha256.to_string()], read).optional().map_err(&failed)?;
        found.map(|(s, token)| Ok(Session { token_sha256: digest(&token)?, ..s })).transpose()
    }

    fn end_session(&mut self, token_sha256: Digest) -> Result<bool, RecordsError> {
        let ended = self.changed("end a session", sql::END_SESSION, [token_sha256.to_string()])?;
        Ok(ended > 0)
    }

    fn end_sessions_of(&mut self, account: &str) -> Result<u64, RecordsError> {
        self.changed("end sessions", sql::END_SESSIONS_OF, [account])
    }

    fn end_expired_sessions(&mut self, now: Instant) -> Result<u64, RecordsError> {
        self.changed("end sessions", sql::END_EXPIRED, [now.unix_nanoseconds()])
    }
}

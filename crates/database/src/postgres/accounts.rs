//! Accounts and sessions in PostgreSQL.

use fallrate_series::Instant;
use fallrate_store::{Account, Accounts, Digest, RecordsError, Session};
use postgres::Row;
use postgres::types::ToSql;

use super::{PostgresRecords, fault, sql};
use crate::sqlite::{number, signed};
use crate::sqlite_accounts::{role_from, role_word};

fn instant(ns: i64) -> Instant {
    Instant::from_unix_nanoseconds(ns)
}

fn account(row: &Row) -> Result<Account, RecordsError> {
    Ok(Account {
        name: row.get(0),
        full_name: row.get(1),
        role: role_from(row.get(2))?,
        password_hash: row.get(3),
        pin_hash: row.get(4),
        training: row.get(5),
        active: row.get(6),
        created_at: instant(row.get(7)),
        refused: number(row.get(8))?,
        locked_until: row.get::<_, Option<i64>>(9).map(instant),
    })
}

impl PostgresRecords {
    fn changed(
        &mut self,
        what: &'static str,
        sql: &str,
        with: &[&(dyn ToSql + Sync)],
    ) -> Result<u64, RecordsError> {
        let failed = fault(what, self.wait_ms);
        self.client()?.execute(sql, with).map_err(failed)
    }
}

impl Accounts for PostgresRecords {
    fn accounts(&mut self) -> Result<Vec<Account>, RecordsError> {
        let failed = fault("read the accounts", self.wait_ms);
        let rows = self.client()?.query(sql::ACCOUNTS, &[]).map_err(failed)?;
        rows.iter().map(account).collect()
    }

    fn put_account(&mut self, a: &Account) -> Result<(), RecordsError> {
        let (created, refused) = (a.created_at.unix_nanoseconds(), signed(a.refused));
        let (role, locked) = (role_word(a.role), a.locked_until.map(Instant::unix_nanoseconds));
        let with: [&(dyn ToSql + Sync); 10] = [
            &a.name,
            &a.full_name,
            &role,
            &a.password_hash,
            &a.pin_hash,
            &a.training,
            &a.active,
            &created,
            &refused,
            &locked,
        ];
        self.changed("keep an account", sql::PUT_ACCOUNT, &with).map(|_| ())
    }

    fn put_session(&mut self, s: &Session) -> Result<(), RecordsError> {
        let (token, created) = (s.token_sha256.to_string(), s.created_at.unix_nanoseconds());
        let (seen, expires) = (s.seen_at.unix_nanoseconds(), s.expires_at.unix_nanoseconds());
        let with: [&(dyn ToSql + Sync); 7] =
            [&token, &s.account, &created, &seen, &expires, &s.device, &s.by_pin];
        self.changed("keep a session", sql::PUT_SESSION, &with).map(|_| ())
    }

    fn session(&mut self, token_sha256: Digest) -> Result<Option<Session>, RecordsError> {
        let failed = fault("read a session", self.wait_ms);
        let row = self.client()?.query_opt(sql::SESSION, &[&token_sha256.to_string()]).map_err(failed)?;
        Ok(row.map(|row| Session {
            token_sha256,
            account: row.get(0),
            created_at: instant(row.get(1)),
            seen_at: instant(row.get(2)),
            expires_at: instant(row.get(3)),
            device: row.get(4),
            by_pin: row.get(5),
        }))
    }

    fn end_session(&mut self, token_sha256: Digest) -> Result<bool, RecordsError> {
        let ended = self.changed("end a session", sql::END_SESSION, &[&token_sha256.to_string()])?;
        Ok(ended > 0)
    }

    fn end_sessions_of(&mut self, account: &str) -> Result<u64, RecordsError> {
        self.changed("end sessions", sql::END_SESSIONS_OF, &[&account])
    }

    fn end_expired_sessions(&mut self, now: Instant) -> Result<u64, RecordsError> {
        self.changed("end sessions", sql::END_EXPIRED, &[&now.unix_nanoseconds()])
    }
}

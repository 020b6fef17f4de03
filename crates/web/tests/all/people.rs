//! Who gets in, and who may do what.

use axum::http::StatusCode;
use fallrate_app::batches::RecordRealm;
use fallrate_database::{OpenOptions, SqliteRecords};
use fallrate_web::Site;

use crate::support::{Answer, request, send_to};

const FIRST: &str = "f1f2f3f4f5f6f7f8f1f2f3f4f5f6f7f8";
const PASSWORD: &str = "long enough words";
const OWN: (&str, &str) = ("sec-fetch-site", "same-origin");
const FORM: (&str, &str) = ("content-type", "application/x-www-form-urlencoded");

fn site() -> (Site, tempfile::TempDir) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("proof.sqlite");
    let records = SqliteRecords::open(&file, RecordRealm::Proof, OpenOptions::default()).expect("a database");
    (Site::with_accounts(Box::new(records), FIRST).expect("a site"), folder)
}

async fn post(site: &Site, session: &str, path: &str, body: &str) -> Answer {
    let cookie = format!("language=en; session={session}");
    send_to(site, request("POST", path, &[OWN, FORM, ("cookie", &cookie)], body)).await
}

async fn get(site: &Site, session: &str, path: &str) -> Answer {
    let cookie = format!("language=en; session={session}");
    send_to(site, request("GET", path, &[("cookie", &cookie), ("host", "plant.example:8420")], "")).await
}

fn session(answer: &Answer) -> String {
    let cookies = answer.headers.get_all("set-cookie").iter().map(|v| v.to_str().unwrap().to_owned());
    let line = cookies.into_iter().find(|c| c.starts_with("session=")).expect("a session");
    assert!(line.contains("HttpOnly") && line.contains("SameSite=Strict"), "{line}");
    line.trim_start_matches("session=").split(';').next().unwrap_or("").to_owned()
}

async fn supervisor(site: &Site) -> String {
    let body = format!("token={FIRST}&full_name=Rosa+Vega&secret={}", PASSWORD.replace(' ', "+"));
    let made = post(site, "", "/first", &body).await;
    assert_eq!(made.status, StatusCode::SEE_OTHER, "{}", made.text());
    session(&made)
}

#[tokio::test]
async fn refuse_everything_before_somebody_signed_in() {
    let (site, _folder) = site();
    for path in ["/", "/plan", "/library", "/people", "/batches", "/live", "/plans"] {
        let answer = get(&site, "", path).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{path}");
        assert!(answer.header("location").starts_with("/sign-in?back=%2F"), "{path}");
    }
    assert_eq!(get(&site, "", "/api/v1/products").await.status, StatusCode::UNAUTHORIZED);
    for path in ["/people", "/setup", "/batches/start", "/plans", "/sign-out"] {
        assert_eq!(
            post(&site, "0123456789abcdef", path, "x=1").await.status,
            StatusCode::UNAUTHORIZED,
            "{path}"
        );
    }
    assert!(get(&site, "", "/sign-in").await.text().contains("Nobody has an account yet"));
}

/// There is no default password; the first account needs the token, and only once.
#[tokio::test]
async fn refuse_a_first_account_without_its_token_or_twice() {
    let (site, _folder) = site();
    let wrong = post(
        &site,
        "",
        "/first",
        "token=00000000000000000000000000000000&full_name=X&secret=long+enough+words",
    )
    .await;
    assert_eq!(wrong.status, StatusCode::NOT_FOUND);
    let short = post(&site, "", "/first", &format!("token={FIRST}&full_name=Rosa&secret=short")).await;
    assert_eq!(short.status, StatusCode::UNPROCESSABLE_ENTITY);
    let rosa = supervisor(&site).await;
    let again =
        post(&site, "", "/first", &format!("token={FIRST}&full_name=Eve&secret=long+enough+words")).await;
    assert_eq!(again.status, StatusCode::NOT_FOUND);
    assert!(get(&site, &rosa, "/people").await.text().contains("Rosa Vega"));
}

#[tokio::test]
async fn identity_each_role_does_its_own_and_stands_beside_its_entries() {
    let (site, folder) = site();
    let rosa = supervisor(&site).await;
    post(&site, &rosa, "/setup", "person=Rosa+Vega&establishment=V&place=C&zone=America%2FDenver").await;
    for (body, status) in [
        ("full_name=Luz+Mar&role=operator&secret=7392", 303),
        ("full_name=Otto&role=reader&secret=another+long+one", 303),
        ("full_name=Luz+Mar&role=reader&secret=another+long+one", 422),
        ("full_name=Ann&role=operator&secret=1234", 422),
        ("full_name=Ann&role=operator&secret=1111", 422),
        ("full_name=Ann&role=king&secret=another+long+one", 400),
    ] {
        assert_eq!(post(&site, &rosa, "/people", body).await.status.as_u16(), status, "{body}");
    }
    let luz = session(&post(&site, "", "/sign-in", "name=luz-mar&secret=7392&back=%2Fbatches").await);
    let otto = session(&post(&site, "", "/sign-in", "name=otto&secret=another+long+one").await);
    let begun =
        post(&site, &luz, "/batches/start", "entry_id=start-0001&lot=A-17&plan=product%3Dapple").await;
    let batch = begun.header("location");
    assert_eq!(
        post(&site, &luz, &format!("{batch}/done"), "number=1&text=Load").await.status,
        StatusCode::SEE_OTHER
    );
    let seen = get(&site, &otto, &batch).await;
    assert!(seen.status.is_success() && seen.text().contains("Luz Mar"), "{}", seen.text());
    assert_eq!(
        post(&site, &otto, &format!("{batch}/done"), "number=2&text=Vent").await.status,
        StatusCode::FORBIDDEN
    );
    for who in [&luz, &otto] {
        assert_eq!(get(&site, who, "/people").await.status, StatusCode::FORBIDDEN);
        assert_eq!(
            post(&site, who, "/people", "full_name=E&role=supervisor&secret=long+enough+words").await.status,
            StatusCode::FORBIDDEN
        );
        assert_eq!(post(&site, who, "/setup", "person=E").await.status, StatusCode::FORBIDDEN);
    }
    // A closed account is out at once.
    assert_eq!(post(&site, &rosa, "/people/luz-mar", "close=yes").await.status, StatusCode::SEE_OTHER);
    assert_eq!(get(&site, &luz, "/").await.status, StatusCode::SEE_OTHER);
    assert_eq!(
        post(&site, "", "/sign-in", "name=luz-mar&secret=7392").await.status,
        StatusCode::UNAUTHORIZED
    );
    // Out is out.
    post(&site, &otto, "/sign-out", "").await;
    assert_eq!(get(&site, &otto, "/").await.status, StatusCode::SEE_OTHER);

    let file = folder.path().join("proof.sqlite");
    let bytes =
        [std::fs::read(&file).unwrap(), std::fs::read(file.with_extension("sqlite-wal")).unwrap_or_default()]
            .concat();
    for secret in [PASSWORD, "another long one", rosa.as_str(), luz.as_str()] {
        assert!(!bytes.windows(secret.len()).any(|w| w == secret.as_bytes()), "kept as it is: {secret}");
    }
}

#[tokio::test]
async fn refuse_guessing() {
    let (site, _folder) = site();
    let rosa = supervisor(&site).await;
    post(&site, &rosa, "/people", "full_name=Luz&role=operator&secret=7392").await;
    for n in 1..=5 {
        let wrong = post(&site, "", "/sign-in", &format!("name=luz&secret=000{n}")).await;
        assert_eq!(wrong.status, StatusCode::UNAUTHORIZED);
        assert!(wrong.text().contains("That is not right"), "{n}");
    }
    // The right one has to wait as well.
    let waits = post(&site, "", "/sign-in", "name=luz&secret=7392").await;
    assert_eq!(waits.status, StatusCode::TOO_MANY_REQUESTS);
    // A supervisor gives a new one; nobody tells whether a name exists.
    post(&site, &rosa, "/people/luz", "secret=8264").await;
    assert_eq!(post(&site, "", "/sign-in", "name=luz&secret=8264").await.status, StatusCode::SEE_OTHER);
    let nobody = post(&site, "", "/sign-in", "name=nobody&secret=8264").await;
    assert_eq!(nobody.status, StatusCode::UNAUTHORIZED);
}

/// A signature asks for the secret again, and counts refusals like signing in does.
#[tokio::test]
async fn refuse_a_signature_without_the_secret_or_the_role() {
    let (site, folder) = site();
    let rosa = supervisor(&site).await;
    post(&site, &rosa, "/setup", "person=Rosa+Vega&establishment=V&place=C&zone=America%2FDenver").await;
    post(&site, &rosa, "/people", "full_name=Luz+Mar&role=operator&secret=7392").await;
    post(&site, &rosa, "/people", "full_name=Otto&role=reader&secret=another+long+one").await;
    let luz = session(&post(&site, "", "/sign-in", "name=luz-mar&secret=7392").await);
    let otto = session(&post(&site, "", "/sign-in", "name=otto&secret=another+long+one").await);
    let opened = post(&site, &luz, "/proof/new", "product=Beef&lot=L-1&quantity=22+kg&cabinet=North").await;
    let record = opened.header("location");
    let page = get(&site, &rosa, &record).await.text();
    assert!(page.contains("id=\"f-secret\""), "{page}");
    let head = page.split("name=\"head\" value=\"").nth(1).and_then(|t| t.split('"').next()).expect("a head");
    let path = format!("{record}/sign");
    let body = |meaning: &str, secret: &str| format!("head={head}&meaning={meaning}&secret={secret}");
    for (who, meaning, secret, status) in [
        (&luz, "reviewed", "7392", 403),
        (&otto, "monitored", "another+long+one", 403),
        (&rosa, "reviewed", "wrong+words+here", 401),
        (&rosa, "reviewed", "", 401),
        (&luz, "monitored", "0000", 401),
        (&luz, "monitored", "7392", 303),
    ] {
        let sent = post(&site, who, &path, &body(meaning, secret)).await;
        assert_eq!(sent.status.as_u16(), status, "{meaning} {secret}: {}", sent.text());
    }
    let seen = get(&site, &otto, &record).await.text();
    assert!(seen.contains("Luz Mar") && !seen.contains("id=\"f-secret\""), "{seen}");
    // What was signed is no longer the head: nobody signs what they have not seen.
    let stale = post(&site, &rosa, &path, &body("reviewed", "long+enough+words")).await;
    assert_eq!(stale.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(stale.text().contains("while you were reading"), "{}", stale.text());
    assert_eq!(get(&site, &luz, "/export.zip").await.status, StatusCode::FORBIDDEN);
    assert!(get(&site, &rosa, "/export.zip").await.status.is_success());
    let said = lines_of::audit(&folder.path().join("proof.sqlite"));
    assert!(said.contains("password_confirmed") && said.contains("refused"), "{said}");
}

/// The lines of the audit stream.
mod lines_of {
    use fallrate_app::batches::{RecordRealm, Records, StreamName};
    use fallrate_database::{OpenOptions, SqliteRecords};

    pub fn audit(file: &std::path::Path) -> String {
        let mut records =
            SqliteRecords::open(file, RecordRealm::Proof, OpenOptions::default()).expect("the database");
        records.lines(&StreamName::audit()).expect("lines").join("\n")
    }
}

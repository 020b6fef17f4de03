//! The proof without script: from three raw files to a signed PDF; what is asked, refused, corrected, exported.

use axum::body::Body;
use axum::http::{Request, StatusCode};
use fallrate_app::batches::RecordRealm;
use fallrate_database::{OpenOptions, SqliteRecords, import_from, verify_all};
use fallrate_web::Site;

use crate::support::{Answer, request, send_to, site};

const OWN: (&str, &str) = ("sec-fetch-site", "same-origin");
const FORM: (&str, &str) = ("content-type", "application/x-www-form-urlencoded");
const COOKIE: (&str, &str) = ("cookie", "language=en; units=us");
const BATCH: &str = include_str!("../../../../examples/proof/batch.toml");
const CORE: &[u8] = include_bytes!("../../../../examples/proof/core_probes.csv");
const CABINET: &[u8] = include_bytes!("../../../../examples/proof/cabinet.xlsx");
const BY_HAND: &[u8] = include_bytes!("../../../../examples/proof/by_hand.txt");

fn encoded(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
        .collect()
}

pub fn form(pairs: &[(&str, &str)]) -> String {
    pairs.iter().map(|(k, v)| format!("{}={}", encoded(k), encoded(v))).collect::<Vec<_>>().join("&")
}

async fn post(site: &Site, path: &str, pairs: &[(&str, &str)]) -> Answer {
    send_to(site, request("POST", path, &[OWN, FORM, COOKIE], &form(pairs))).await
}

async fn get(site: &Site, path: &str) -> Answer {
    send_to(site, request("GET", path, &[COOKIE], "")).await
}

/// A demonstration site: a database of the invented world.
fn invented() -> (Site, tempfile::TempDir) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("demo.sqlite");
    let records = SqliteRecords::open(&file, RecordRealm::Demo, OpenOptions::default()).expect("a database");
    (Site::new(Box::new(records)).expect("a site"), folder)
}

async fn set_up(site: &Site, person: &str) {
    let plant = [
        ("person", person),
        ("establishment", "Creamery Yard Drying (invented)"),
        ("place", "a valley"),
        ("zone", "America/Denver"),
        ("altitude", "640 m"),
    ];
    assert_eq!(post(site, "/setup", &plant).await.status, StatusCode::SEE_OTHER);
}

/// A file as a browser sends it.
async fn upload(site: &Site, record: &str, name: &str, bytes: &[u8], used: &str) -> Answer {
    let mut body = Vec::new();
    for (field, value) in [("use", used), ("entry_id", "")] {
        body.extend(
            format!("--edge\r\nContent-Disposition: form-data; name=\"{field}\"\r\n\r\n{value}\r\n").bytes(),
        );
    }
    body.extend(
        format!(
            "--edge\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\
             Content-Type: application/octet-stream\r\n\r\n"
        )
        .bytes(),
    );
    body.extend(bytes);
    body.extend(b"\r\n--edge--\r\n");
    let request = Request::post(format!("{record}/file"))
        .header("host", "127.0.0.1:8420")
        .header(OWN.0, OWN.1)
        .header(COOKIE.0, COOKIE.1)
        .header("content-type", "multipart/form-data; boundary=edge")
        .body(Body::from(body))
        .expect("a request");
    send_to(site, request).await
}

/// The value of a hidden field.
fn hidden(page: &str, name: &str) -> String {
    let at =
        page.split(&format!("name=\"{name}\" value=\"")).nth(1).unwrap_or_else(|| panic!("{name}: {page}"));
    let raw = at.split('"').next().expect("a value");
    raw.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
}

async fn opened(site: &Site, text: &str) -> String {
    let answer = post(site, "/proof/new", &[("toml", text), ("entry_id", "open-00001")]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    answer.header("location")
}

/// Confirms and keeps a file that is uploaded already, with the mapping that is given.
async fn keep(site: &Site, path: &str, name: &str, mapping: &str) -> Answer {
    post(site, path, &[("name", name), ("mapping", mapping), ("act", "keep"), ("title", "cabinet logger")])
        .await
}

/// The three files of the example into a record, each with its mapping.
async fn feed(site: &Site, record: &str) {
    let mappings = [
        ("core_probes.csv", CORE, include_str!("../../../../examples/proof/core_probes.mapping.toml")),
        ("cabinet.xlsx", CABINET, include_str!("../../../../examples/proof/cabinet.mapping.toml")),
        ("by_hand.txt", BY_HAND, ""),
    ];
    for (name, bytes, mapping) in mappings {
        let sent = upload(site, record, name, bytes, "readings").await;
        assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text());
        let path = sent.header("location").split('?').next().unwrap_or("").to_owned();
        let kept = keep(site, &path, name, mapping).await;
        assert_eq!(kept.status, StatusCode::SEE_OTHER, "{name}: {}", kept.text());
    }
}

/// proves: RECORD-H10, RECORD-H12
#[tokio::test]
async fn identity_from_three_files_to_a_signed_pdf() {
    let (site, folder) = invented();
    set_up(&site, "Owner").await;
    let record = opened(&site, BATCH).await;
    let page = get(&site, &record).await.text();
    assert!(page.contains("Not judged yet") && page.contains("Hold, do not pack"), "{page}");
    feed(&site, &record).await;
    let page = get(&site, &record).await.text();
    for name in ["core_probes.csv", "cabinet.xlsx", "by_hand.txt"] {
        assert!(page.contains(name), "{name}");
    }
    let judged = post(&site, &format!("{record}/judge"), &[("entry_id", "judge-0001")]).await;
    assert_eq!(judged.status, StatusCode::SEE_OTHER, "{}", judged.text());
    let page = get(&site, &record).await.text();
    assert!(
        page.contains("INVENTED") && page.contains("Practice."),
        "invented readings are practice only: {page}"
    );
    assert!(page.contains("class=\"floor wait\"") && page.contains("class=\"filled\""), "{page}");
    assert!(
        page.contains("<a href=\"#m0-1\"") && page.contains("id=\"m0-1\""),
        "every open piece leads to its reason"
    );
    let head = hidden(&page, "head");
    // The owner entered everything: another person reviews, or the reason stands there.
    let alone = post(&site, &format!("{record}/sign"), &[("meaning", "reviewed"), ("head", &head)]).await;
    assert_eq!(alone.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(alone.text().contains("Another person reviews"), "{}", alone.text());
    set_up(&site, "Outside reviewer").await;
    let review = [
        ("meaning", "reviewed"),
        ("head", &head),
        ("training", "HACCP course, 2024"),
        ("entry_id", "sign-00001"),
    ];
    for _ in 0..2 {
        let signed = post(&site, &format!("{record}/sign"), &review).await;
        assert_eq!(signed.status, StatusCode::SEE_OTHER, "{}", signed.text());
    }
    let page = get(&site, &record).await.text();
    assert_eq!(page.matches("HACCP course, 2024").count(), 1, "sent twice, signed once");
    let head = hidden(&page, "head");
    let released = post(&site, &format!("{record}/sign"), &[("meaning", "released"), ("head", &head)]).await;
    assert_eq!(released.status, StatusCode::SEE_OTHER, "{}", released.text());
    let page = get(&site, &record).await.text();
    assert!(page.contains("class=\"floor go-on\""), "{page}");
    let pdf = get(&site, &format!("{record}/record.pdf")).await;
    assert!(pdf.status.is_success() && pdf.bytes.starts_with(b"%PDF-"), "{}", pdf.status);
    assert!(pdf.header("content-disposition").contains("record-b-0910.pdf"));
    let html = get(&site, &format!("{record}/record.html")).await.text();
    assert!(html.contains("Outside reviewer") && html.contains("HACCP course, 2024"));
    let head = hidden(&page, "head");
    let verified = get(&site, &format!("{record}/verify?head={}", head.get(..20).unwrap_or(""))).await.text();
    assert!(verified.contains("Nothing was changed"), "{verified}");
    assert!(
        get(&site, &format!("{record}/verify?head=0123456789abcdef0")).await.text().contains("was changed")
    );
    let found = get(&site, "/batches?words=b-0910&verdict=met&release=released").await.text();
    assert!(found.contains("B-0910"), "{found}");
    assert!(!get(&site, "/batches?verdict=not_met").await.text().contains("B-0910"));
    let mut records =
        SqliteRecords::open(&folder.path().join("demo.sqlite"), RecordRealm::Demo, OpenOptions::default())
            .expect("the database");
    verify_all(&mut records).expect("chains without a fault");
}

/// A place for real records takes measured batches only, and its verdict is one.
#[tokio::test]
async fn identity_a_measured_record_gives_a_verdict_and_refuses_invented_ones() {
    let (site, _folder) = site();
    set_up(&site, "Owner").await;
    let refused = post(&site, "/proof/new", &[("toml", BATCH)]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("invented = true"), "what was typed is still there");
    let record = opened(&site, &BATCH.replace("invented = true ", "invented = false")).await;
    feed(&site, &record).await;
    post(&site, &format!("{record}/judge"), &[]).await;
    let page = get(&site, &record).await.text();
    assert!(!page.contains("INVENTED") && page.contains("<h1>Met"), "{page}");
    // Something entered after the verdict: it no longer fits, and the floor holds.
    let test = [
        ("what", "water_activity"),
        ("value", "0.91"),
        ("tolerance", "0.01"),
        ("sample", "one piece"),
        ("instrument", "AW-1"),
    ];
    assert_eq!(post(&site, &format!("{record}/test"), &test).await.status, StatusCode::SEE_OTHER);
    let page = get(&site, &record).await.text();
    assert!(page.contains("verdict no longer fits") && page.contains("class=\"floor hold\""), "{page}");
    post(&site, &format!("{record}/judge"), &[]).await;
    let page = get(&site, &record).await.text();
    assert!(page.contains("Call the person in charge"), "{page}");
    assert!(page.contains("Corrective action") && page.contains("name=\"part\" value=\"cause\""));
    let html = get(&site, &format!("{record}/record.html")).await.text();
    assert!(html.matches("criteria").count() >= 2, "both verdicts stay");
    // Four parts, then the lot is decided.
    let deviation = hidden(&page, "deviation");
    let part =
        |p: &'static str| vec![("deviation", deviation.as_str()), ("part", p), ("text", "found and done")];
    for p in ["cause", "control", "prevention"] {
        let done = post(&site, &format!("{record}/action"), &part(p)).await;
        assert_eq!(done.status, StatusCode::SEE_OTHER, "{}", done.text());
    }
    let bare = post(&site, &format!("{record}/action"), &part("disposition")).await;
    assert_eq!(bare.status, StatusCode::UNPROCESSABLE_ENTITY);
    let last = [part("disposition"), vec![("held", "22 kg"), ("decision", "destroy")]].concat();
    assert_eq!(post(&site, &format!("{record}/action"), &last).await.status, StatusCode::SEE_OTHER);
    let page = get(&site, &record).await.text();
    assert!(page.contains("class=\"floor hold\"") && !page.contains("Call the person"), "{page}");
    let head = hidden(&page, "head");
    post(
        &site,
        &format!("{record}/sign"),
        &[("meaning", "reviewed"), ("head", &head), ("same_person_reason", "solo owner")],
    )
    .await;
    let page = get(&site, &record).await.text();
    assert!(page.contains("Same person as made entries, because: solo owner"), "{page}");
    let head = hidden(&page, "head");
    let release = post(&site, &format!("{record}/sign"), &[("meaning", "released"), ("head", &head)]).await;
    assert_eq!(release.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(release.text().contains("does not let the lot go"), "{}", release.text());
}

/// Nothing is guessed: date order, zone and units are asked; the answers are kept for the next file.
#[tokio::test]
async fn identity_a_file_is_asked_about_once() {
    let (site, _folder) = invented();
    set_up(&site, "Owner").await;
    let record = opened(&site, BATCH).await;
    let sent = upload(&site, &record, "core_probes.csv", CORE, "readings").await;
    let at = sent.header("location");
    let path = at.split('?').next().unwrap_or("").to_owned();
    let page = get(&site, &at).await.text();
    assert!(
        page.contains("This can be read in two ways") && page.contains("type=\"radio\" name=\"a.1\""),
        "{page}"
    );
    assert!(!page.contains("checked"), "no answer is taken without a hand: {page}");
    assert!(page.contains("Probe 1 (°F)") && page.contains("value=\"America/Denver\""), "{page}");
    let early = post(&site, &path, &[("name", "core_probes.csv"), ("act", "keep")]).await;
    assert_eq!(early.status, StatusCode::UNPROCESSABLE_ENTITY, "open questions are not passed over");
    assert!(
        get(&site, &record).await.text().contains("No files yet")
            || !get(&site, &record).await.text().contains("core_probes.csv")
    );
    // Each round answers what is asked; the mapping travels in the form.
    let mut page = page;
    for _ in 0..4 {
        if !page.contains("name=\"a.1\"") {
            break;
        }
        let mut fields: Vec<(String, String)> = vec![
            ("name".into(), "core_probes.csv".into()),
            ("act".into(), "look".into()),
            ("mapping".into(), hidden(&page, "mapping")),
        ];
        for n in 1..=9 {
            if page.contains(&format!("type=\"radio\" name=\"a.{n}\"")) {
                fields.push((format!("a.{n}"), if n == 1 { "2".into() } else { "1".into() }));
            } else if page.contains(&format!("name=\"a.{n}\"")) {
                fields.push((format!("a.{n}"), "America/Denver".into()));
            }
        }
        let pairs: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
        page = post(&site, &path, &pairs).await.text();
    }
    assert!(page.contains("Is this right?") && page.contains("Clock of the logger"), "{page}");
    let mapping = hidden(&page, "mapping");
    let kept = post(
        &site,
        &path,
        &[
            ("name", "core_probes.csv"),
            ("mapping", &mapping),
            ("title", "Core probes CP-2"),
            ("act", "keep"),
            ("entry_id", "keep-00001"),
        ],
    )
    .await;
    assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.text());
    // The next file of the kind is asked about nothing.
    let mut next = CORE.to_vec();
    next.extend(b"");
    let text = String::from_utf8_lossy(&next).replace("41.1,40.9", "41.2,40.9");
    let again = upload(&site, &record, "core_probes.csv", text.as_bytes(), "readings").await;
    let page = get(&site, &again.header("location")).await.text();
    assert!(page.contains("Read as “Core probes CP-2”") && page.contains("Is this right?"), "{page}");
    // The very same bytes are not counted twice.
    let same = upload(&site, &record, "copy.csv", CORE, "readings").await;
    let page = get(&site, &same.header("location")).await.text();
    assert!(page.contains("in the record already"), "{page}");
    let path = same.header("location").split('?').next().unwrap_or("").to_owned();
    post(&site, &path, &[("name", "copy.csv"), ("mapping", &hidden(&page, "mapping")), ("act", "keep")])
        .await;
    assert!(!get(&site, &record).await.text().contains("copy.csv"));
    let empty = upload(&site, &record, "empty.csv", b"", "readings").await;
    assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);
    let nonsense = upload(&site, &record, "song.csv", &[0, 159, 146, 150, 7, 7, 7], "readings").await;
    let page = get(&site, &nonsense.header("location")).await;
    assert!(page.status.is_success() && !page.text().contains("value=\"keep\""), "{}", page.text());
}

/// The form writes what the batch file says, keeps what was typed on errors, and lists what is missing.
#[tokio::test]
async fn identity_facts_are_stated_by_a_form() {
    let (site, _folder) = site();
    set_up(&site, "Owner").await;
    let opening = [
        ("product", "Beef strips"),
        ("lot", "L-7"),
        ("quantity", "22 kg"),
        ("cabinet", "North"),
        ("entry_id", "open-00007"),
    ];
    let answer = post(&site, "/proof/new", &opening).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let record = answer.header("location");
    let page = get(&site, &record).await.text();
    assert!(page.contains("What to supply") && page.contains("State what is claimed"), "{page}");
    let facts = format!("{record}/facts");
    let wrong = [
        ("claim.document", "cooking guideline 2021"),
        ("claim.options", "2"),
        ("claim.lethality", "6.5 log"),
        ("product.fat", "lots"),
        ("positions.required", "air-leaving end"),
    ];
    let refused = post(&site, &facts, &wrong).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let text = refused.text();
    assert!(
        text.contains("product.fat")
            && text.contains("value=\"lots\"")
            && text.contains("value=\"air-leaving end\""),
        "{text}"
    );
    let right = [
        ("claim.document", "cooking guideline 2021"),
        ("claim.options", ""),
        ("claim.options", "2"),
        ("claim.options", "3"),
        ("claim.lethality", "6.5 log"),
        ("product.species", "beef"),
        ("product.fat", "5 %"),
        ("positions.required", "air-entering end, air-leaving end"),
        ("cabinet.opening_that_cannot_shut", "no"),
        ("limit.0.name", "CCP 2"),
        ("limit.0.measured", "core"),
        ("limit.0.position", "air-leaving end"),
        ("limit.0.at_least", "145 degF"),
        ("limit.0.for", "4 min"),
    ];
    let saved = post(&site, &facts, &right).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER, "{}", saved.text());
    let page = get(&site, &facts).await.text();
    for shown in [
        "value=\"5 %\"",
        "value=\"beef\" selected",
        "value=\"3\" checked",
        "value=\"CCP 2\"",
        "Another limit",
    ] {
        assert!(page.contains(shown), "{shown}: {page}");
    }
    let page = get(&site, &record).await.text();
    assert!(page.contains("Supply a core probe reading at “air-leaving end”"), "{page}");
    assert!(page.contains("State when the product met heat"), "{page}");
    // The same again enters nothing.
    let before = hidden(&page, "head");
    post(&site, &facts, &right).await;
    assert_eq!(hidden(&get(&site, &record).await.text(), "head"), before);
    assert_eq!(get(&site, "/proof/none").await.status, StatusCode::NOT_FOUND);
    let bare = post(&site, "/proof/new", &[("product", "x"), ("lot", ""), ("quantity", "2 kg")]).await;
    assert_eq!(bare.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn identity_a_correction_names_what_it_corrects() {
    let (site, _folder) = invented();
    set_up(&site, "Owner").await;
    let record = opened(&site, BATCH).await;
    let list = get(&site, &format!("{record}/entries")).await.text();
    assert!(list.contains("plan_version") && list.contains("Correct or withdraw"), "{list}");
    let silent =
        post(&site, &format!("{record}/entries/1"), &[("old.plan_version", "4"), ("new.plan_version", "5")])
            .await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY, "a correction has a reason");
    let sets =
        [("old.plan_version", "4, 2026-06-02"), ("new.plan_version", "5"), ("reason", "wrong edition")];
    let done = post(&site, &format!("{record}/entries/1"), &sets).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER, "{}", done.text());
    let list = get(&site, &format!("{record}/entries")).await.text();
    assert!(
        list.contains("corrected") && list.contains("wrong edition") && list.contains("4, 2026-06-02"),
        "{list}"
    );
    let gone = post(&site, &format!("{record}/entries/1/withdraw"), &[("reason", "no")]).await;
    assert_eq!(gone.status, StatusCode::UNPROCESSABLE_ENTITY, "what opened a record stays");
}

/// RECORD-H15: everything as open files, read in again elsewhere.
#[tokio::test]
async fn identity_everything_goes_out_and_comes_in_again() {
    let (site, folder) = invented();
    set_up(&site, "Owner").await;
    let record = opened(&site, BATCH).await;
    feed(&site, &record).await;
    let out = get(&site, "/export.zip").await;
    assert!(out.status.is_success() && out.bytes.starts_with(b"PK"));
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(out.bytes)).expect("an archive");
    let place = folder.path().join("out");
    archive.extract(&place).expect("files");
    let other = folder.path().join("copy.sqlite");
    let mut copy =
        SqliteRecords::open(&other, RecordRealm::Demo, OpenOptions::default()).expect("a database");
    import_from(&mut copy, &place.join("export")).expect("read in again");
    verify_all(&mut copy).expect("whole");
    let one = get(&site, &format!("{record}/record.zip")).await;
    let archive = zip::ZipArchive::new(std::io::Cursor::new(one.bytes)).expect("an archive");
    let id = record.rsplit('/').next().unwrap_or("");
    assert!(archive.index_for_name(&format!("{id}/cabinet.xlsx")).is_some());
    let kept = get(&site, &format!("{record}/kept/cabinet.xlsx")).await;
    assert_eq!(kept.bytes, CABINET, "the original bytes");
}

#[tokio::test]
async fn identity_instruments_bring_their_calibration_along() {
    let (site, _folder) = site();
    set_up(&site, "Owner").await;
    let tc = [
        ("id", "TC-1"),
        ("description", "type T probe"),
        ("unit", "celsius"),
        ("tolerance", "0.5 degC"),
        ("low", "-40 degC"),
        ("high", "120 degC"),
        ("every_days", "180"),
    ];
    let made = post(&site, "/instruments", &tc).await;
    assert_eq!((made.status, made.header("location").as_str()), (StatusCode::SEE_OTHER, "/instruments/TC-1"));
    assert!(get(&site, "/").await.text().contains("One instrument needs calibration"));
    let odd = [("against", "ice"), ("reference.1", "0 degC"), ("passed", "yes")];
    assert_eq!(
        post(&site, "/instruments/TC-1/calibration", &odd).await.status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    let done = [
        ("against", "ice bath"),
        ("reference.1", "0 degC"),
        ("shown.1", "0.3 degC"),
        ("passed", "yes"),
        ("record", "sheet 31"),
    ];
    assert_eq!(post(&site, "/instruments/TC-1/calibration", &done).await.status, StatusCode::SEE_OTHER);
    let page = get(&site, "/instruments/TC-1").await.text();
    assert!(page.contains("ice bath") && page.contains("shown 0.3 degC"), "{page}");
    assert!(!get(&site, "/").await.text().contains("needs calibration"));
    // A failed check leaves it without a calibration.
    let failed = [("against", "ice bath"), ("passed", "no")];
    post(&site, "/instruments/TC-1/calibration", &failed).await;
    assert!(get(&site, "/instruments").await.text().contains("its readings prove nothing"));
    post(&site, "/instruments/TC-1/calibration", &done).await;
    let answer = post(
        &site,
        "/proof/new",
        &[("product", "Beef"), ("lot", "L-8"), ("quantity", "22 kg"), ("cabinet", "North")],
    )
    .await;
    let record = answer.header("location");
    let sent = upload(&site, &record, "core_probes.csv", CORE, "readings").await;
    let path = sent.header("location").split('?').next().unwrap_or("").to_owned();
    let mapping = include_str!("../../../../examples/proof/core_probes.mapping.toml");
    let cut = |c: &str| c.split("[column.instrument]").next().unwrap_or("").to_owned();
    let bare = mapping.split("[[column]]").map(cut).collect::<Vec<_>>().join("[[column]]");
    let fields = [
        ("name", "core_probes.csv"),
        ("mapping", &bare),
        ("act", "look"),
        ("c.3.heading", "Probe 1 (°F)"),
        ("c.3.role", "core"),
        ("c.3.number", "1"),
        ("c.3.position", "air-entering end"),
        ("c.3.unit", "degF"),
        ("c.3.instrument", "TC-1"),
    ];
    let page = post(&site, &path, &fields).await.text();
    assert!(page.contains("value=\"0.5 degC\"") && page.contains("value=\"sheet 31\""), "{page}");
}

#[tokio::test]
async fn identity_an_own_version_keeps_its_history() {
    let (site, _folder) = site();
    set_up(&site, "Owner").await;
    let page = get(&site, "/library/own/product?from=apple").await.text();
    assert!(page.contains("Save as own version"), "{page}");
    let text = page
        .split("spellcheck=\"false\">")
        .nth(1)
        .and_then(|t| t.split("</textarea>").next())
        .expect("a file");
    let text = text.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    let save = |toml: String, note: &'static str| {
        let fields = [
            ("title".to_owned(), "Our apples".to_owned()),
            ("note".to_owned(), note.to_owned()),
            ("toml".to_owned(), toml),
            ("from".to_owned(), "apple".to_owned()),
            ("from_version".to_owned(), "0".to_owned()),
        ];
        let site = site.clone();
        async move {
            let pairs: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
            post(&site, "/library/own/product", &pairs).await
        }
    };
    let broken = save(text.replace("[moisture]", "[moistur]"), "typo").await;
    assert_eq!(broken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(broken.text().contains("[moistur]") && broken.text().contains("class=\"faults\""));
    let first = save(text.clone(), "as the program has it").await;
    assert_eq!(first.header("location"), "/library/own/product/our-apples", "{}", first.text());
    save(text, "second thoughts").await;
    let page = get(&site, "/library/own/product/our-apples").await.text();
    assert!(
        page.contains("OWN") && page.contains("Version 2") && page.contains("copied from apple"),
        "{page}"
    );
    let old = get(&site, "/library/own/product/our-apples/1").await.text();
    assert!(old.contains("old version") && old.contains("as the program has it"), "{old}");
    assert!(get(&site, "/library").await.text().contains("Our apples"));
    assert_eq!(get(&site, "/library/own/product/our-apples/9").await.status, StatusCode::NOT_FOUND);
    assert_eq!(get(&site, "/library/own/recipe?from=apple").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn refuse_files_of_other_pages_and_too_large_ones() {
    let (site, _folder) = invented();
    set_up(&site, "Owner").await;
    let record = opened(&site, BATCH).await;
    let foreign = Request::post(format!("{record}/file"))
        .header("host", "127.0.0.1:8420")
        .header("origin", "https://elsewhere.example")
        .header("content-type", "multipart/form-data; boundary=edge")
        .body(Body::from("--edge--\r\n"))
        .expect("a request");
    assert_eq!(send_to(&site, foreign).await.status, StatusCode::FORBIDDEN);
    let large = upload(&site, &record, "large.csv", &vec![b'1'; 17 * 1024 * 1024], "readings").await;
    assert_eq!(large.status, StatusCode::PAYLOAD_TOO_LARGE);
}

async fn json(site: &Site, path: &str, body: &serde_json::Value) -> Answer {
    let kind = ("content-type", "application/json");
    send_to(site, request("POST", path, &[kind, COOKIE], &body.to_string())).await
}

/// The same by a program, from a batch file and bytes to a signature.
#[tokio::test]
async fn identity_a_program_proves_a_batch() {
    use serde_json::json;
    let (site, _folder) = invented();
    set_up(&site, "Owner").await;
    let open = json!({ "entry_id": "open-00001", "batch_file": BATCH });
    let first = json(&site, "/api/v1/proof", &open).await;
    let again = json(&site, "/api/v1/proof", &open).await;
    assert_eq!((first.status, first.json()), (StatusCode::OK, again.json()), "{}", first.text());
    let path = format!("/api/v1/proof/{}", first.json()["id"].as_str().expect("an id"));
    let files = [
        ("core_probes.csv", CORE, Some(include_str!("../../../../examples/proof/core_probes.mapping.toml"))),
        ("cabinet.xlsx", CABINET, Some(include_str!("../../../../examples/proof/cabinet.mapping.toml"))),
        ("by_hand.txt", BY_HAND, None),
    ];
    for (n, (name, bytes, mapping)) in files.into_iter().enumerate() {
        let sent = Request::post(format!("{path}/files?name={name}"))
            .header("host", "127.0.0.1:8420")
            .header("content-type", "application/octet-stream")
            .body(Body::from(bytes.to_vec()))
            .expect("a request");
        let seen = send_to(&site, sent).await;
        assert_eq!(seen.status, StatusCode::OK, "{}", seen.text());
        let seen = seen.json();
        if name == "core_probes.csv" {
            assert!(seen["questions"].as_array().is_some_and(|q| !q.is_empty()), "{seen}");
        }
        let at = format!("{path}/files/{}", seen["sha256"].as_str().expect("a hash"));
        let read = |entry_id: &str, mapping: Option<&str>| json!({ "entry_id": entry_id, "name": name, "mapping": mapping, "keep": true, "keep_mapping_as": name });
        if name == "core_probes.csv" {
            let open = json(&site, &at, &read("keep-open-1", None)).await;
            assert_eq!(open.status, StatusCode::UNPROCESSABLE_ENTITY, "questions are not passed over");
        }
        let kept = json(&site, &at, &read(&format!("keep-0000{n}"), mapping)).await;
        assert_eq!(kept.status, StatusCode::OK, "{}", kept.text());
        assert!(kept.json()["entry"].is_u64(), "{}", kept.text());
    }
    let judged = json(&site, &format!("{path}/verdict"), &json!({ "entry_id": "judge-0001" })).await;
    assert_eq!(judged.status, StatusCode::OK, "{}", judged.text());
    let stand = judged.json();
    assert_eq!((stand["floor"].as_str(), stand["practice"].as_bool()), (Some("wait"), Some(true)), "{stand}");
    let found = get(&site, &format!("{path}/verdict")).await.json();
    assert_eq!(found["criterion"].as_str(), Some("met"), "{found}");
    let sign = json!({
        "entry_id": "sign-00001", "meaning": "reviewed", "head": stand["head"], "same_person_reason": "solo owner"
    });
    assert_eq!(json(&site, &format!("{path}/signatures"), &sign).await.status, StatusCode::OK);
    let verified = get(&site, &format!("{path}/verification")).await.json();
    assert_eq!(verified["intact"].as_bool(), Some(true));
    assert!(get(&site, &format!("{path}/record.pdf")).await.bytes.starts_with(b"%PDF-"));
    for (sub, body, status) in [
        ("entries", json!({ "entry_id": "bad-000001", "entry": { "kind": "judged" } }), 422),
        (
            "entries",
            json!({ "entry_id": "bad-000002", "entry": { "kind": "withdrawn", "entry": 99, "reason": "x" } }),
            422,
        ),
        ("facts", json!({ "entry_id": "bad-000003", "batch_file": "[batch]" }), 422),
        ("signatures", json!({ "entry_id": "bad-000004", "meaning": "king", "head": "" }), 400),
        ("verdict", json!({ "entry_id": "x" }), 422),
    ] {
        let answer = json(&site, &format!("{path}/{sub}"), &body).await;
        assert_eq!(answer.status.as_u16(), status, "{sub}: {}", answer.text());
        assert_eq!(answer.header("content-type"), "application/problem+json", "{sub}");
    }
    assert_eq!(get(&site, "/api/v1/proof/none").await.status, StatusCode::NOT_FOUND);
    let list = get(&site, "/api/v1/batches?verdict=met&from=2020-01-01").await.json();
    assert_eq!(list.as_array().map(Vec::len), Some(1), "{list}");
    assert_eq!(get(&site, "/api/v1/batches?from=soon").await.status, StatusCode::UNPROCESSABLE_ENTITY);
    let kept = get(&site, "/api/v1/mappings").await.json();
    assert_eq!(kept.as_array().map(Vec::len), Some(2), "{kept}");
}

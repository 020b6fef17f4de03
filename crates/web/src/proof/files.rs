//! A file sent by a browser, and its form.

use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::proof::desk::{keep_support, put, view};
use maud::{Markup, html};

use super::sent::{Sent, app_fault, back_to, hidden, ready};
use crate::fault::said;
use crate::look::Visit;
use crate::plan::encode;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// The form that sends a file.
pub(super) fn form(v: &Visit, id: &str) -> Markup {
    let uses =
        [("readings", "desk-use-readings"), ("support", "desk-use-support"), ("photo", "desk-use-photo")];
    html! {
        form.sheet method="post" action={ "/proof/" (id) "/file" } enctype="multipart/form-data" {
            (hidden(v))
            div.field {
                label for="f-file" { (v.text("desk-file")) }
                input #f-file name="file" type="file" required;
                p.note { (v.text("desk-file-more")) }
            }
            div.field {
                label for="f-use" { (v.text("desk-use")) }
                select #f-use name="use" { @for (value, key) in uses { option value=(value) { (v.text(key)) } } }
            }
            button.go { (v.text("desk-file-send")) }
        }
    }
}

/// A file's name without folders and without letters that no disk takes.
fn plain_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or("");
    let clean: String =
        last.chars().filter(|c| !c.is_control() && !":*?\"<>|".contains(*c)).take(120).collect();
    let clean = clean.trim().trim_start_matches('.').to_owned();
    match clean.as_str() {
        "" => "file".to_owned(),
        "record.jsonl" => "record-file.jsonl".to_owned(),
        _ => clean,
    }
}

/// Keeps the bytes at once; what they say is looked at on the page after.
pub(super) async fn upload(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    mut parts: Multipart,
) -> Response {
    let (mut sent, mut file) = (Sent::default(), None);
    loop {
        let part = match parts.next_field().await {
            Ok(Some(part)) => part,
            Ok(None) => break,
            Err(e) => return e.status().into_response(),
        };
        let (field, name) = (part.name().unwrap_or("").to_owned(), part.file_name().map(str::to_owned));
        let bytes = match part.bytes().await {
            Ok(bytes) => bytes,
            Err(e) => return e.status().into_response(),
        };
        match name {
            Some(name) if field == "file" => file = Some((plain_name(&name), bytes.to_vec())),
            _ => sent.0.push((field, String::from_utf8_lossy(&bytes).into_owned())),
        }
    }
    let (_, stamp) = match ready(&v, &site, &sent).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let Some((name, bytes)) = file.filter(|(_, b)| !b.is_empty()) else { return nothing(&v, &id) };
    if matches!(sent.get("use"), "support" | "photo") {
        let (key, photo) = (id.clone(), sent.get("use") == "photo");
        let work = move |r: &mut dyn fallrate_app::batches::Records| {
            keep_support(r, &key, &stamp, (&name, &bytes), photo)
        };
        return back_to(&v, &id, site.desk().write_app(work).await);
    }
    let key = id.clone();
    let kept = site.desk().write_app(move |r| match view(r, &key)? {
        Some(_) => put(r, &bytes).map(Some),
        None => Ok(None),
    });
    match kept.await {
        Ok(Some(sha)) => {
            Redirect::to(&format!("/proof/{id}/file/{sha}?name={}", encode(&name))).into_response()
        }
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => app_fault(&v, &format!("/proof/{id}"), &e),
    }
}

fn nothing(v: &Visit, id: &str) -> Response {
    let body = html! {
        h1 { (v.text("desk-file-none")) }
        (form(v, id))
    };
    let page = Shell { title: v.text("desk-file-none"), tab: Tab::Batches }.around(v, &body);
    said((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

#[cfg(test)]
mod tests {
    use super::plain_name;

    #[test]
    fn refuse_folders_and_odd_letters_in_names() {
        assert_eq!(plain_name("C:\\logs\\core probes.csv"), "core probes.csv");
        assert_eq!(plain_name("../../etc/passwd"), "passwd");
        assert_eq!(plain_name("..."), "file");
        assert_eq!(plain_name("record.jsonl"), "record-file.jsonl");
    }
}

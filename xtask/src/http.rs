//! A small end of HTTP, for servers this program started on this machine.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use crate::XtaskError;

/// What came back.
#[derive(Debug)]
pub struct Answer {
    /// Status.
    pub status: u16,
    /// Headers as they came.
    pub head: String,
    /// Bytes after the headers, as they crossed the wire.
    pub body: Vec<u8>,
}

impl Answer {
    /// The value of a header.
    #[must_use]
    pub fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().find_map(|line| {
            let (found, value) = line.split_once(':')?;
            found.eq_ignore_ascii_case(name).then(|| value.trim())
        })
    }
}

fn failed(address: &str) -> impl Fn(std::io::Error) -> XtaskError {
    let program = format!("the server at {address}");
    move |source| XtaskError::Start { program: program.clone(), source }
}

/// One request as a page of the server itself makes it; `body` has its kind and its text.
///
/// # Errors
/// Where the server is not there or its answer is none.
pub fn ask(
    address: &str,
    (method, path): (&str, &str),
    more: &str,
    body: Option<(&str, &str)>,
) -> Result<Answer, XtaskError> {
    let failed = failed(address);
    let host = address.trim_start_matches("http://").trim_end_matches('/');
    let mut stream = TcpStream::connect(host).map_err(&failed)?;
    stream.set_read_timeout(Some(Duration::from_secs(120))).map_err(&failed)?;
    let (kind, text) = body.unwrap_or(("text/plain", ""));
    let request = format!(
        "{method} {path} HTTP/1.1\r\nhost: {host}\r\nconnection: close\r\nsec-fetch-site: same-origin\r\n{more}\
         content-type: {kind}\r\ncontent-length: {}\r\n\r\n{text}",
        text.len()
    );
    stream.write_all(request.as_bytes()).map_err(&failed)?;
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes).map_err(&failed)?;
    let end = bytes.windows(4).position(|w| w == b"\r\n\r\n");
    let end = end.ok_or_else(|| failed(std::io::Error::other("an answer without an end of its headers")))?;
    let body = bytes.split_off(end + 4);
    let head = String::from_utf8_lossy(&bytes).into_owned();
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok());
    let status = status.ok_or_else(|| failed(std::io::Error::other("an answer without a status")))?;
    Ok(Answer { status, head, body })
}

/// Sends a form and expects to be led on; hands back where to.
///
/// # Errors
/// As [`ask`], and where the form is refused.
pub fn form(address: &str, path: &str, text: &str) -> Result<String, XtaskError> {
    let answer = ask(address, ("POST", path), "", Some(("application/x-www-form-urlencoded", text)))?;
    match answer.header("location") {
        Some(to) if answer.status == 303 => Ok(to.to_owned()),
        _ => Err(XtaskError::Findings(vec![format!("{path}: status {}", answer.status)])),
    }
}

/// Says whose plant it is, and starts a batch from a plan; hands back its path.
///
/// # Errors
/// As [`form`].
pub fn batch(address: &str, n: usize) -> Result<String, XtaskError> {
    form(
        address,
        "/setup",
        "person=Ana+Ruiz&establishment=Valley+Workshop&place=Creamery&zone=America%2FDenver",
    )?;
    let start =
        format!("entry_id=start-{n:04}&lot=L-{n:04}&plan=product%3Dapple%26load.amount%3D35%26units%3Dsi");
    form(address, "/batches/start", &start)
}

//! The program as a server, and a small browser's end of HTTP.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// A server that ends with this value, if it was not killed before.
pub struct Server {
    child: Child,
    pub address: String,
}

/// What came back.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Server {
    pub fn start(data: &Path) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fallrate"));
        command.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(data);
        Self::of(command)
    }

    /// A server whose files may not grow beyond so many bytes, as on a full disk.
    #[cfg(unix)]
    pub fn start_with_little_room(data: &Path, bytes: u64) -> Self {
        let mut command = Command::new("sh");
        // POSIX counts in blocks of 512 bytes. A write beyond the limit then fails instead of ending the program.
        let script = format!("trap '' XFSZ; ulimit -f {}; exec \"$0\" \"$@\"", bytes / 512);
        command.args(["-c", &script, env!("CARGO_BIN_EXE_fallrate")]);
        command.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(data);
        Self::of(command)
    }

    fn of(mut command: Command) -> Self {
        let mut child =
            command.stdin(Stdio::null()).stdout(Stdio::piped()).spawn().expect("the program starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("its output")).read_line(&mut line).expect("its address");
        let address = line.trim().trim_start_matches("http://").trim_end_matches('/').to_owned();
        assert!(!address.is_empty(), "no address: {line}");
        Self { child, address }
    }

    /// As a power cut ends it.
    pub fn kill(mut self) {
        self.child.kill().expect("killed");
        self.child.wait().expect("ended");
    }

    /// As a person ends it.
    #[cfg(unix)]
    pub fn stop(mut self) {
        let id = self.child.id().to_string();
        assert!(Command::new("kill").args(["-TERM", &id]).status().expect("kill").success());
        assert!(self.child.wait().expect("ended").success());
    }

    pub fn get(&self, path: &str) -> Answer {
        ask(&self.address, "GET", path, "", "").expect("an answer")
    }
    /// A form sent by one of the program's own pages.
    pub fn form(&self, path: &str, body: &str) -> Answer {
        let kind = "application/x-www-form-urlencoded";
        ask(&self.address, "POST", path, kind, body).expect("an answer")
    }
    /// Says whose plant it is, and starts a batch; hands back its id.
    pub fn batch(&self) -> String {
        let plant = "person=Ana+Ruiz&establishment=Valley+Workshop&place=Creamery&zone=America%2FDenver";
        assert_eq!(self.form("/setup", plant).status, 303);
        let begun = self.form("/batches/start", "entry_id=start-0001&lot=A-17&plan=product%3Dapple");
        assert_eq!(begun.status, 303, "{}", begun.body);
        let place = begun.head.lines().find_map(|l| l.strip_prefix("location: /batches/"));
        place.expect("the batch").trim().to_owned()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// One request; an error where the server is gone before its whole answer is there.
pub fn ask(address: &str, method: &str, path: &str, kind: &str, body: &str) -> std::io::Result<Answer> {
    let mut stream = TcpStream::connect(address)?;
    stream.set_read_timeout(Some(Duration::from_secs(60)))?;
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\nsec-fetch-site: same-origin\r\n\
         content-type: {kind}\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    )?;
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes)?;
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let broken = || std::io::Error::other("an answer cut off");
    let (head, body) = text.split_once("\r\n\r\n").ok_or_else(broken)?;
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).ok_or_else(broken)?;
    let length = head.lines().find_map(|l| l.strip_prefix("content-length: ")?.trim().parse::<usize>().ok());
    if length.is_some_and(|l| body.len() < l) {
        return Err(broken());
    }
    Ok(Answer { status, head: head.to_owned(), body: body.to_owned() })
}

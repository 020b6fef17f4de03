//! The web app measured as its users meet it: start, first page, redraw, twenty cabinets under way with ten open pages.

use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use crate::browser::Server;
use crate::{XtaskError, browser, http, metadata, process};

/// Cabinets under way.
const CABINETS: usize = 20;
/// Pages that are open.
const PAGES: usize = 10;
/// From one reading of a cabinet to the next.
const EVERY: Duration = Duration::from_secs(5);
/// How long they are watched.
const WATCHED: Duration = Duration::from_secs(60);

fn ms(d: Duration) -> f64 {
    d.as_secs_f64() * 1000.0
}

/// Median, 95th percentile and worst, ms.
fn spread(mut times: Vec<f64>) -> String {
    times.sort_by(f64::total_cmp);
    let at = |q: usize| {
        times.get((times.len() * q / 100).min(times.len().saturating_sub(1))).copied().unwrap_or(f64::NAN)
    };
    format!(
        "median {:.0} ms, 95th percentile {:.0} ms, worst {:.0} ms ({} times)",
        at(50),
        at(95),
        at(100),
        times.len()
    )
}

fn timed<T>(work: impl FnOnce() -> Result<T, XtaskError>) -> Result<(T, f64), XtaskError> {
    let begun = Instant::now();
    let done = work()?;
    Ok((done, ms(begun.elapsed())))
}

/// Prints the figures of docs/performance.md.
///
/// # Errors
/// Where something does not start or an answer is not good.
pub fn run(release: bool) -> Result<(), XtaskError> {
    let target = metadata::target_folder()?;
    let mut build = vec!["build", "--quiet", "--package", "fallrate"];
    if release {
        build.push("--release");
    }
    process::run(process::cargo(&build))?;
    let program = target.join(if release { "release/fallrate" } else { "debug/fallrate" });
    let data = target.join("bench_web");
    let _ = std::fs::remove_dir_all(&data);
    starts(&program, &data.join("start"))?;
    let server = browser::serve(&program, &data.join("site"), false)?;
    first_page(&server.address)?;
    cabinets(&server)?;
    redraw(&server.address)
}

fn starts(program: &Path, data: &Path) -> Result<(), XtaskError> {
    let mut times = Vec::new();
    for _ in 0..10 {
        let (_, time) = timed(|| {
            let server = browser::serve(program, data, false)?;
            http::ask(&server.address, ("GET", "/"), "", None)
        })?;
        times.push(time);
    }
    println!("start to first page: {}", spread(times));
    Ok(())
}

/// Addresses of what a page loads.
fn loads(page: &str) -> Vec<String> {
    let found = page.split("/static/").skip(1).filter_map(|rest| rest.split(['"', ')']).next());
    found.map(|rest| format!("/static/{rest}")).collect()
}

fn first_page(address: &str) -> Result<(), XtaskError> {
    let packed = "accept-encoding: gzip\r\n";
    for path in ["/", "/plan"] {
        let plain = http::ask(address, ("GET", path), "", None)?;
        let mut bytes = http::ask(address, ("GET", path), packed, None)?.body.len();
        let own = bytes;
        let mut parts = loads(&String::from_utf8_lossy(&plain.body));
        let style = parts.iter().find(|p| p.ends_with(".css")).cloned();
        if let Some(style) = style {
            let text = http::ask(address, ("GET", &style), "", None)?.body;
            parts.extend(loads(&String::from_utf8_lossy(&text)));
        }
        for part in &parts {
            bytes += http::ask(address, ("GET", part), packed, None)?.body.len();
        }
        let times: Result<Vec<f64>, XtaskError> =
            (0..40).map(|_| Ok(timed(|| http::ask(address, ("GET", path), packed, None))?.1)).collect();
        println!(
            "page {path}: {own} bytes, with all it loads {bytes} bytes in {} files; {}",
            parts.len() + 1,
            spread(times?)
        );
    }
    Ok(())
}

fn redraw(address: &str) -> Result<(), XtaskError> {
    for (product, band) in [("apple", ""), ("beef_eye_of_round", ""), ("apple", "&band=1")] {
        let mut times = Vec::new();
        for n in 0..if band.is_empty() { 30 } else { 10 } {
            // A load nobody asked for before: nothing is remembered.
            let load = format!("2{}.{n:02}{}", times.len() % 5, usize::from(!band.is_empty()));
            let path = format!("/plan/result?product={product}&load.amount={load}&units=si{band}");
            let (answer, time) = timed(|| http::ask(address, ("GET", &path), "", None))?;
            if answer.status != 200 {
                return Err(XtaskError::Findings(vec![format!("{path}: status {}", answer.status)]));
            }
            times.push(time);
        }
        println!(
            "redraw of {product}{}: {}",
            if band.is_empty() { "" } else { " with its band" },
            spread(times)
        );
    }
    Ok(())
}

/// Processor time so far in s, and memory now and at most in MB.
fn use_of(id: u32) -> (f64, f64, f64) {
    let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).unwrap_or_default();
    let after = stat.rsplit(')').next().unwrap_or("");
    let ticks: f64 = after.split_whitespace().skip(11).take(2).filter_map(|t| t.parse::<f64>().ok()).sum();
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    let mb = |name: &str| {
        let line = status.lines().find_map(|l| l.strip_prefix(name)?.strip_prefix(':'));
        line.and_then(|l| l.split_whitespace().next()?.parse::<f64>().ok()).map_or(f64::NAN, |kb| kb / 1024.0)
    };
    (ticks / 100.0, mb("VmRSS"), mb("VmHWM"))
}

/// A page that is open: it hears of changes and fetches itself, as the script does, at most every five seconds.
fn open_page(address: &str, path: &str, stop: &AtomicBool, fetched: &AtomicUsize) {
    let host = address.trim_start_matches("http://").trim_end_matches('/');
    let Ok(mut stream) = TcpStream::connect(host) else { return };
    let _ = stream.set_read_timeout(Some(Duration::from_millis(500)));
    let _ = write!(stream, "GET /live HTTP/1.1\r\nhost: {host}\r\n\r\n");
    let mut lines = BufReader::new(stream);
    let mut last = Instant::now();
    let mut line = String::new();
    while !stop.load(Ordering::Relaxed) {
        line.clear();
        let heard = lines.read_line(&mut line).is_ok() && line.contains("changed");
        if heard && last.elapsed() > EVERY {
            last = Instant::now();
            if http::ask(address, ("GET", path), "accept-encoding: gzip\r\n", None)
                .is_ok_and(|a| a.status == 200)
            {
                fetched.fetch_add(1, Ordering::Relaxed);
            }
        }
    }
}

fn cabinets(server: &Server) -> Result<(), XtaskError> {
    let address = server.address.as_str();
    let mut batches = Vec::new();
    for n in 0..CABINETS {
        let batch = http::batch(address, n)?;
        http::form(address, &format!("{batch}/done"), &format!("entry_id=done-{n:04}&number=1&text=Load"))?;
        batches.push(batch);
    }
    let (stop, fetched) = (AtomicBool::new(false), AtomicUsize::new(0));
    let before = use_of(server.id());
    let begun = Instant::now();
    let mut times = Vec::new();
    std::thread::scope(|scope| -> Result<(), XtaskError> {
        for n in 0..PAGES {
            let path = if n == 0 { "/" } else { batches.get(n).map_or("/", String::as_str) };
            let (stop, fetched) = (&stop, &fetched);
            scope.spawn(move || open_page(address, path, stop, fetched));
        }
        let mut n = 0_u32;
        let result = loop {
            let due = EVERY.mul_f64(f64::from(n) / 20.0);
            if due > WATCHED {
                break Ok(());
            }
            std::thread::sleep(due.saturating_sub(begun.elapsed()));
            let batch = batches.get(n as usize % CABINETS).map_or("", String::as_str);
            let body = format!(
                "{{\"entry_id\":\"reading-{n:06}\",\"kind\":\"air\",\"value\":\"{}.{} degC\"}}",
                60 + n % 5,
                n % 10
            );
            let path = format!("/api/v1{batch}/entries");
            match timed(|| http::ask(address, ("POST", &path), "", Some(("application/json", &body)))) {
                Ok((answer, time)) if answer.status == 200 => times.push(time),
                Ok((answer, _)) => {
                    break Err(XtaskError::Findings(vec![format!("{path}: status {}", answer.status)]));
                }
                Err(e) => break Err(e),
            }
            n += 1;
        };
        stop.store(true, Ordering::Relaxed);
        result
    })?;
    let wall = begun.elapsed().as_secs_f64();
    let after = use_of(server.id());
    println!(
        "{CABINETS} cabinets, one reading each every 5 s, {PAGES} open pages, {wall:.0} s: {:.0} % of one core, {:.0} MB (at most {:.0} MB), {} pages fetched; a reading kept: {}",
        (after.0 - before.0) / wall * 100.0,
        after.1,
        after.2,
        fetched.load(Ordering::Relaxed),
        spread(times)
    );
    Ok(())
}

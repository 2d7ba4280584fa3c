//! `watch`, asked by a plain HTTP client: what it shows when a file is saved, and whom it refuses.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::Duration;

#[path = "support/program.rs"]
mod program;

use program::{Folder, program};

/// No answer comes later than this, however loaded the machine is.
const PATIENCE: Duration = Duration::from_secs(40);

/// So many times in a row, ten seconds apart, an open page may be told that nothing is new.
const PULSES: usize = 3;

/// Long enough for a round to begin that should not.
const SILENCE: Duration = Duration::from_millis(1_500);

const VAN: &str = "\
---
title: A van
builder: nobody
---

The motor, asked for [here](result:w.force).

```yaml worksheet w
given: {m: 100 kg ± 1 kg (measured), g: 10 m/s^2 ± 0.01 m/s^2 (measured)}
steps:
  - {name: force, is: m * g, unit: N}
checks: {light: force <= 1 150 N}
```

Later.

```yaml worksheet later
steps:
  - {name: twice, is: w.force * 2, unit: N}
```
";

/// A watch that is going on; it is killed at the end.
struct Watch {
    folder: Folder,
    child: Child,
    port: u16,
    out: Receiver<String>,
    err: Receiver<String>,
}

impl Watch {
    fn new(text: &str) -> Watch {
        let folder = Folder::new();
        folder.write("van.md", text);
        Watch::of(folder, 0)
    }

    fn of(folder: Folder, port: u16) -> Watch {
        let mut command = program(&["watch", "--port", &port.to_string()]);
        command.arg(&folder.path).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let out = lines_of(child.stdout.take().expect("its output"));
        let err = lines_of(child.stderr.take().expect("its errors"));
        let mut watch = Watch { folder, child, port: 0, out, err };
        let line = watch.line_with("watching ");
        let (_, address) = line.split_once("http://127.0.0.1:").expect("an address");
        watch.port = address.split('/').next().and_then(|port| port.parse().ok()).expect("a port");
        watch
    }

    /// The next line of its output with these words.
    #[track_caller]
    fn line_with(&self, words: &str) -> String {
        line_with(&self.out, words)
    }

    /// The rounds that it tells of until it has been silent for a while.
    fn rounds(&self) -> usize {
        let lines = std::iter::from_fn(|| self.out.recv_timeout(SILENCE).ok());
        lines.filter(|line| line.contains(" worked; requirements")).count()
    }

    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).expect("a connection");
        stream.set_read_timeout(Some(PATIENCE)).expect("a deadline");
        stream
    }

    /// Status and whole answer. HTTP 1.0: the connection ends with it.
    fn ask(&self, request: &str) -> (u16, String) {
        let mut stream = self.connect();
        stream.write_all(request.as_bytes()).expect("it is sent");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("an answer");
        let status = answer.split(' ').nth(1).and_then(|status| status.parse().ok()).expect("a status");
        (status, answer)
    }

    fn get(&self, path: &str) -> (u16, String) {
        self.ask(&format!("GET {path} HTTP/1.0\r\nHost: 127.0.0.1:{}\r\n\r\n", self.port))
    }

    #[track_caller]
    fn page(&self) -> String {
        let (status, page) = self.get("/");
        assert_eq!(status, 200);
        page
    }

    fn events(&self) -> Events {
        let mut stream = self.connect();
        write!(stream, "GET /events HTTP/1.1\r\nHost: localhost:{}\r\n\r\n", self.port).expect("it is sent");
        Events(BufReader::new(stream))
    }

    /// Saves the journal, and gives the first page that holds these words.
    #[track_caller]
    fn save_until(&self, text: &str, words: &str) -> String {
        let mut events = self.events();
        events.next();
        self.folder.write("van.md", text);
        self.page_with(&mut events, words)
    }

    #[track_caller]
    fn page_with(&self, events: &mut Events, words: &str) -> String {
        loop {
            let page = self.page();
            if page.contains(words) {
                return page;
            }
            events.next();
        }
    }

    fn journal(&self) -> String {
        fs::read_to_string(self.folder.path.join("van.md")).expect("the journal")
    }
}

fn lines_of(from: impl Read + Send + 'static) -> Receiver<String> {
    let (tell, told) = channel();
    thread::spawn(move || {
        BufReader::new(from).lines().map_while(Result::ok).try_for_each(|line| tell.send(line))
    });
    told
}

/// The next line with these words.
#[track_caller]
fn line_with(lines: &Receiver<String>, words: &str) -> String {
    loop {
        let line = lines.recv_timeout(PATIENCE).unwrap_or_else(|_| panic!("it never says `{words}`"));
        assert!(!line.contains("panicked"), "{line}");
        if line.contains(words) {
            return line;
        }
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

struct Events(BufReader<TcpStream>);

impl Events {
    /// What the next edition is called.
    #[track_caller]
    fn next(&mut self) -> String {
        let mut line = String::new();
        let mut silent = 0;
        loop {
            line.clear();
            assert!(silent < PULSES, "nothing new comes");
            assert!(self.0.read_line(&mut line).expect("an event in time") > 0, "the events end");
            if let Some(edition) = line.strip_prefix("data: ") {
                return edition.trim().to_owned();
            }
            silent += usize::from(line.starts_with(':'));
        }
    }
}

/// 120 kg × 10 m/s² is 1 200 N, over the limit of 1 150 N.
#[test]
fn a_save_is_worked_written_back_and_shown_with_what_moved() {
    let watch = Watch::new(VAN);
    assert!(watch.page().contains("1 000 N"));
    assert_eq!(watch.rounds(), 0, "its own writing starts no round");
    let page = watch
        .save_until(&watch.journal().replace("m: 100 kg", "m: 120 kg"), "What moved since the watch began");
    assert!(page.contains("1 200 N") && page.contains("+200 N"), "{page}");
    watch.line_with("moved since the last working");
    watch.line_with("  w: light: meets → fails");
    watch.line_with(" worked; requirements: fails 1");
    assert!(watch.journal().contains("[1 200 N](result:w.force)"), "{}", watch.journal());
    assert_eq!(watch.rounds(), 0, "its own writing starts no round");
    // What is put back has moved nothing.
    let page = watch.save_until(&watch.journal().replace("m: 120 kg", "m: 100 kg"), "Nothing moved.");
    assert!(!page.contains("1 200 N"));
}

#[test]
fn a_burst_of_saves_is_one_round() {
    let watch = Watch::new(VAN);
    let mut events = watch.events();
    events.next();
    assert_eq!(watch.rounds(), 0);
    for mass in 1..=100 {
        watch.folder.write("van.md", VAN.replace("m: 100 kg", &format!("m: {mass} kg")));
    }
    watch.folder.write("van.md", VAN.replace("m: 100 kg", "m: 73 kg"));
    watch.page_with(&mut events, "730 N");
    watch.line_with(" worked; requirements");
    // A loaded machine may make a pause between two saves that ends a burst.
    let rounds = watch.rounds();
    assert!(rounds <= 4, "{rounds} rounds for 101 saves");
    assert!(
        watch.journal().contains("m: 73 kg") && watch.journal().contains("[730 N]"),
        "{}",
        watch.journal()
    );
}

/// As editors save: beside, then renamed over the file, with copies and marks of their own in the folder.
#[test]
fn an_editor_that_replaces_the_file_is_followed() {
    let watch = Watch::new(VAN);
    let mut events = watch.events();
    events.next();
    let path = watch.folder.path.join("van.md");
    let text = |mass: usize| VAN.replace("m: 100 kg", &format!("m: {mass} kg"));
    for (masses, forces) in [([103, 104], ["1 030 N", "1 040 N"]), ([107, 108], ["1 070 N", "1 080 N"])] {
        watch.folder.write(".van.md.swp", "swap");
        watch.folder.write("4913", "");
        fs::remove_file(watch.folder.path.join("4913")).expect("removed");
        fs::rename(&path, watch.folder.path.join("van.md~")).expect("kept");
        watch.folder.write("van.md", text(masses[0]));
        watch.page_with(&mut events, forces[0]);
        // What was worked is written back meanwhile: in the moment of its rename a save would be lost.
        watch.rounds();
        watch.folder.write("saved.tmp", text(masses[1]));
        fs::rename(watch.folder.path.join("saved.tmp"), &path).expect("saved");
        watch.page_with(&mut events, forces[1]);
        watch.rounds();
    }
}

#[test]
fn new_files_and_folders_are_taken_up() {
    let watch = Watch::new(VAN);
    let block = |name: &str, mass: usize| {
        format!("```yaml worksheet {name}\nsteps:\n  - {{name: all, is: {mass} kg + 1 kg, unit: kg}}\n```\n")
    };
    let mut events = watch.events();
    watch.folder.write("zone/down/more.md", block("more", 41));
    watch.page_with(&mut events, "42 kg");
    watch.folder.write("zone/down/more.md", block("more", 51));
    watch.page_with(&mut events, "52 kg");
    fs::remove_dir_all(watch.folder.path.join("zone")).expect("removed");
    let mut gone = false;
    while !gone {
        gone = !watch.page().contains("52 kg");
        if !gone {
            events.next();
        }
    }
    watch.folder.write("zone/down/more.md", block("more", 61));
    watch.page_with(&mut events, "62 kg");
}

#[test]
fn while_a_file_is_half_saved_the_last_good_page_stays_with_the_finding() {
    let watch = Watch::new(VAN);
    let whole = watch.journal();
    let halves = [
        // Within a fence, within a region, before the block that another one needs, and with nothing at all.
        &whole[..whole.find("steps:").expect("steps")],
        &whole[..whole.find("| Result").expect("a region")],
        &whole[whole.find("Later.").expect("a word")..],
        "",
    ];
    for half in halves {
        let page = watch.save_until(half, "half saved");
        assert!(page.contains("1 000 N") && page.contains("2 000 N"), "the page before stays:\n{page}");
        assert!(half.is_empty() || page.contains("error: van.md, line "), "{page}");
        assert_eq!(watch.journal(), half, "nothing is written into it");
        let mut events = watch.events();
        events.next();
        watch.folder.write("van.md", &whole);
        loop {
            if !watch.page().contains("half saved") {
                break;
            }
            events.next();
        }
    }
}

#[test]
fn a_finding_stands_beside_its_block_and_in_the_terminal() {
    let watch = Watch::new(VAN);
    let page =
        watch.save_until(&watch.journal().replace("m: 100 kg", "m: 100 kgs"), "<code>kgs</code> is no unit");
    let after = |from: &str, word: &str| {
        let (_, rest) = page.split_once(from).unwrap_or_else(|| panic!("no {from}:\n{page}"));
        rest.find(word)
    };
    let (finding, next) =
        (after("id=\"block.w\"", "error: van.md, line 9"), after("id=\"block.w\"", "id=\"block.later\""));
    assert!(finding.is_some() && finding < next, "{page}");
    assert!(page.contains("Not worked"), "{page}");
    line_with(&watch.err, "error unknown-unit: `kgs` is no unit");
    watch.line_with("0 blocks worked, 2 not");
    assert!(!watch.save_until(VAN, "Nothing moved.").contains("kgs"));
}

#[test]
fn whoever_has_no_business_here_is_refused() {
    let watch = Watch::new(VAN);
    let port = watch.port;
    let own = format!("127.0.0.1:{port}");
    let status = |request: &str| watch.ask(request).0;
    for host in ["van.example", "127.0.0.1", "127.0.0.1:1", "localhost.example:80", ""] {
        assert_eq!(status(&format!("GET / HTTP/1.0\r\nHost: {host}\r\n\r\n")), 403, "{host}");
        assert_eq!(status(&format!("GET /events HTTP/1.0\r\nHost: {host}\r\n\r\n")), 403, "{host}");
    }
    assert_eq!(status("GET / HTTP/1.0\r\n\r\n"), 403);
    assert_eq!(status(&format!("GET / HTTP/1.0\r\nHost: {own}\r\nHost: van.example\r\n\r\n")), 403);
    for method in ["POST", "PUT", "DELETE", "HEAD", "OPTIONS", "TRACE", "PATCH"] {
        assert_eq!(
            status(&format!("{method} / HTTP/1.0\r\nHost: {own}\r\nContent-Length: 0\r\n\r\n")),
            405,
            "{method}"
        );
    }
    let outside = [
        "/van.md",
        "/../van.md",
        "/..%2fvan.md",
        "//etc/passwd",
        "/../../../../etc/passwd",
        "/?x",
        "*",
        "http://van.example/",
    ];
    for path in outside {
        let (status, answer) = watch.get(path);
        assert_eq!(status, 404, "{path}: {answer}");
        assert!(!answer.contains("The motor"), "{path}");
    }
    for (path, kind) in [("/", "text/html"), ("/watch.js", "text/javascript"), ("/watch.css", "text/css")] {
        let (status, answer) = watch.get(path);
        assert_eq!(status, 200, "{path}");
        assert!(answer.contains(&format!("Content-Type: {kind}; charset=utf-8\r\n")), "{answer:.400}");
        assert!(answer.contains("X-Content-Type-Options: nosniff\r\n"), "{answer:.400}");
    }
    assert_eq!(watch.ask(&format!("GET / HTTP/1.0\r\nHost: LocalHost:{port}\r\n\r\n")).0, 200);
}

#[test]
fn no_open_connection_holds_up_another() {
    let watch = Watch::new(VAN);
    let mut open: Vec<TcpStream> = (0..120).map(|_| watch.connect()).collect();
    for (at, stream) in open.iter_mut().enumerate() {
        // Nothing at all, half a request, a page and events that nobody reads.
        let sent = match at % 4 {
            0 => String::new(),
            1 => "GET / HT".to_owned(),
            2 => format!("GET / HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", watch.port).repeat(20),
            _ => format!("GET /events HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", watch.port),
        };
        stream.write_all(sent.as_bytes()).expect("it is sent");
    }
    watch.save_until(&VAN.replace("m: 100 kg", "m: 111 kg"), "1 110 N");
    drop(open);
    assert!(watch.page().contains("1 110 N"));
}

#[test]
fn a_port_that_is_taken_is_told_and_the_next_one_used() {
    let first = Watch::new(VAN);
    let folder = Folder::new();
    folder.write("van.md", VAN);
    let second = Watch::of(folder, first.port);
    assert!(second.port > first.port, "{} and {}", first.port, second.port);
    assert!(second.page().contains("1 000 N") && first.page().contains("1 000 N"));
}

#[cfg(unix)]
#[test]
fn ctrl_c_ends_it_well() {
    let mut watch = Watch::new(VAN);
    let _events = watch.events();
    let id = watch.child.id();
    let told = Command::new("sh").args(["-c", &format!("kill -INT {id}")]).status().expect("a shell");
    assert!(told.success());
    watch.line_with("no longer watching");
    assert!(watch.child.wait().expect("it ends").success());
    let checked = watch.folder.run(&["check"]);
    assert!(checked.status == 0 && !checked.out.contains("stale"), "{}", checked.out);
    let names: Vec<_> = fs::read_dir(&watch.folder.path).expect("the folder").collect();
    assert_eq!(names.len(), 1, "{names:?}");
}

#[test]
fn what_can_not_be_watched_is_told() {
    let folder = Folder::new();
    let none = folder.path.join("none");
    let run = program::Run::of(program(&["watch"]).arg(none).output().expect("it starts"));
    assert_eq!(run.status, 3);
    assert!(run.err.contains("is not there"), "{}", run.err);
    let run = program::Run::of(program(&["watch", "-"]).output().expect("it starts"));
    assert_eq!(run.status, 2);
}

//! Serves the page on the loopback address, and tells open pages of the next one. Nothing is read from the disk for a
//! request, and each connection has a thread of its own, so that none waits for another.

use std::io::{self, Read, Write};
use std::net::{Ipv4Addr, Shutdown, SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::thread;
use std::time::Duration;

use super::super::complain;
use super::board::{Board, edition};
use super::request::{Asked, Request, read};

const SCRIPT: &str = include_str!("../../../templates/watch.js");
const SHEET: &str = include_str!("../../../templates/watch.css");

/// How many ports are tried, the first included.
const PORTS: u16 = 50;

/// How long whoever asks may take for his question, and for taking the answer.
const PATIENCE: Duration = Duration::from_secs(30);

/// So often an open page is told that nothing is new, which shows whether it is still there.
const PULSE: Duration = Duration::from_secs(10);

/// What else was sent with a question is taken, up to so many bytes: the answer might be lost otherwise.
const MORE: u64 = 64 * 1024;

/// Where it is served: the port named, or the next one that is free.
pub(super) fn serve(port: u16, board: &Arc<Board>) -> io::Result<SocketAddr> {
    let listener = listen(port)?;
    let address = listener.local_addr()?;
    if address.port() != port && port != 0 {
        complain(&format!("port {port} is taken; {} is used\n", address.port()));
    }
    let board = Arc::clone(board);
    thread::spawn(move || {
        loop {
            let Ok((stream, _)) = listener.accept() else {
                // Where no more connections can be had, some must end first.
                thread::sleep(Duration::from_millis(50));
                continue;
            };
            let board = Arc::clone(&board);
            // A connection that no thread can be had for is dropped, which closes it; who has gone away needs no answer.
            let _ = thread::Builder::new().spawn(move || drop(answer(stream, address.port(), &board)));
        }
    });
    Ok(address)
}

fn listen(port: u16) -> io::Result<TcpListener> {
    let mut last = io::Error::other("there is no such port");
    for port in (port..=u16::MAX).take(usize::from(PORTS)) {
        match TcpListener::bind((Ipv4Addr::LOCALHOST, port)) {
            Ok(listener) => return Ok(listener),
            Err(error) => last = error,
        }
    }
    Err(last)
}

fn answer(mut stream: TcpStream, port: u16, board: &Board) -> io::Result<()> {
    stream.set_read_timeout(Some(PATIENCE))?;
    stream.set_write_timeout(Some(PATIENCE))?;
    let asked = read(&mut stream, PATIENCE)?;
    let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    match asked {
        Asked::Nonsense => refuse(&mut stream, "400 Bad Request", "this is no request\n")?,
        Asked::This(request) if !request.is_for(&hosts) => {
            refuse(&mut stream, "403 Forbidden", "this page is served to this machine alone\n")?;
        }
        Asked::This(Request { method, .. }) if method != "GET" => {
            refuse(&mut stream, "405 Method Not Allowed\r\nAllow: GET", "this page can only be read\n")?;
        }
        Asked::This(Request { path, .. }) => match path.as_str() {
            "/" => send(&mut stream, ("200 OK", "text/html"), &board.page())?,
            "/watch.js" => send(&mut stream, ("200 OK", "text/javascript"), SCRIPT)?,
            "/watch.css" => send(&mut stream, ("200 OK", "text/css"), SHEET)?,
            "/events" => return tell(&mut stream, board),
            _ => refuse(&mut stream, "404 Not Found", "there is no such page\n")?,
        },
    }
    stream.shutdown(Shutdown::Write)?;
    io::copy(&mut stream.take(MORE), &mut io::sink()).map(drop)
}

fn refuse(stream: &mut TcpStream, status: &str, why: &str) -> io::Result<()> {
    send(stream, (status, "text/plain"), why)
}

/// Kept by no browser, framed by no page, taken for nothing else.
fn send(stream: &mut TcpStream, (status, kind): (&str, &str), text: &str) -> io::Result<()> {
    let head = format!(
        "HTTP/1.1 {status}\r\nContent-Type: {kind}; charset=utf-8\r\nContent-Length: {}\r\nConnection: close\r\n{GUARDS}\r\n",
        text.len()
    );
    stream.write_all(head.as_bytes())?;
    stream.write_all(text.as_bytes())
}

const GUARDS: &str = "Cache-Control: no-store\r\nX-Content-Type-Options: nosniff\r\n\
    Cross-Origin-Resource-Policy: same-origin\r\nContent-Security-Policy: frame-ancestors 'none'\r\n";

/// What each edition is called from now on, as server-sent events, until the reader goes away.
fn tell(stream: &mut TcpStream, board: &Board) -> io::Result<()> {
    let head = "HTTP/1.1 200 OK\r\nContent-Type: text/event-stream\r\nConnection: close\r\n";
    write!(stream, "{head}{GUARDS}\r\nretry: 1000\n\n")?;
    let mut told = 0;
    loop {
        match board.after(told, PULSE) {
            Some(number) => {
                write!(stream, "data: {}\n\n", edition(number))?;
                told = number;
            }
            None => stream.write_all(b": nothing new\n\n")?,
        }
    }
}

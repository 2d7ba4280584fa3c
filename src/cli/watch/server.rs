//! Serves the page on the loopback address, and tells open pages of the next one. Nothing is read from the disk for a
//! request, and each is answered on a thread of its own, so that none waits for another.

use std::io::{self, Write};
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::thread;
use std::time::Duration;

use tiny_http::{Header, Method, Request, Response, Server};

use super::super::complain;
use super::board::{Board, edition};

const SCRIPT: &str = include_str!("../../../templates/watch.js");
const SHEET: &str = include_str!("../../../templates/watch.css");

/// How many ports are tried, the first included.
const PORTS: u16 = 50;

/// So often an open page is told that nothing is new, which shows whether it is still there.
const PULSE: Duration = Duration::from_secs(10);

/// Where it is served: the port named, or the next one that is free.
pub(super) fn serve(port: u16, board: &Arc<Board>) -> io::Result<SocketAddr> {
    let (server, address) = listen(port)?;
    if address.port() != port && port != 0 {
        complain(&format!("port {port} is taken; {} is used\n", address.port()));
    }
    let board = Arc::clone(board);
    thread::spawn(move || {
        for request in server.incoming_requests() {
            let board = Arc::clone(&board);
            // A request that no thread can be had for is dropped, which closes its connection.
            let _ = thread::Builder::new().spawn(move || answer(request, address, &board));
        }
    });
    Ok(address)
}

fn listen(port: u16) -> io::Result<(Server, SocketAddr)> {
    let mut last = io::Error::other("there is no such port");
    for port in (port..=u16::MAX).take(usize::from(PORTS)) {
        match std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port)) {
            Ok(listener) => {
                let address = listener.local_addr()?;
                let server = Server::from_listener(listener, None).map_err(io::Error::other)?;
                return Ok((server, address));
            }
            Err(error) => last = error,
        }
    }
    Err(last)
}

fn answer(request: Request, address: SocketAddr, board: &Board) {
    let port = address.port();
    let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let mut named = request.headers().iter().filter(|header| header.field.equiv("Host")).peekable();
    let ours = named.peek().is_some()
        && named.all(|header| hosts.iter().any(|host| header.value.as_str().eq_ignore_ascii_case(host)));
    // Whoever has gone away needs no answer.
    let _ = match (ours, request.method(), request.url()) {
        (false, ..) => refuse(request, 403, "this page is served to this machine alone\n"),
        (true, method, _) if *method != Method::Get => refuse(request, 405, "this page can only be read\n"),
        (true, _, "/") => send(request, "text/html; charset=utf-8", board.page().as_bytes()),
        (true, _, "/watch.js") => send(request, "text/javascript; charset=utf-8", SCRIPT.as_bytes()),
        (true, _, "/watch.css") => send(request, "text/css; charset=utf-8", SHEET.as_bytes()),
        (true, _, "/events") => tell(request, board),
        _ => refuse(request, 404, "there is no such page\n"),
    };
}

fn send(request: Request, kind: &str, bytes: &[u8]) -> io::Result<()> {
    request.respond(guarded(Response::from_data(bytes), kind))
}

fn refuse(request: Request, status: u16, why: &str) -> io::Result<()> {
    let response = guarded(Response::from_string(why), "text/plain; charset=utf-8").with_status_code(status);
    request.respond(match status {
        405 => response.with_header(header("Allow", "GET")),
        _ => response,
    })
}

/// Kept by no browser, framed by no page, taken for nothing else.
fn guarded<R: io::Read>(response: Response<R>, kind: &str) -> Response<R> {
    [
        ("Content-Type", kind),
        ("Cache-Control", "no-store"),
        ("X-Content-Type-Options", "nosniff"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
        ("Content-Security-Policy", "frame-ancestors 'none'"),
    ]
    .into_iter()
    .fold(response, |response, (field, value)| response.with_header(header(field, value)))
}

/// # Panics
/// Only where what is written above is no header.
fn header(field: &str, value: &str) -> Header {
    Header::from_bytes(field, value).expect("a header of ours")
}

/// The number of each edition from now on, as server-sent events, until the reader goes away.
fn tell(request: Request, board: &Board) -> io::Result<()> {
    let mut out = request.into_writer();
    out.write_all(
        b"HTTP/1.1 200 OK\r\nContent-Type: text/event-stream\r\nCache-Control: no-store\r\n\
          X-Content-Type-Options: nosniff\r\nConnection: close\r\n\r\nretry: 1000\n\n",
    )?;
    let mut told = 0;
    loop {
        match board.after(told, PULSE) {
            Some(number) => {
                write!(out, "data: {}\n\n", edition(number))?;
                told = number;
            }
            None => out.write_all(b": nothing new\n\n")?,
        }
        out.flush()?;
    }
}

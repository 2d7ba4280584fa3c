//! Reads what is asked of the page: a method, a path and for which host.

use std::io::{self, Read};
use std::time::{Duration, Instant};

/// The longest head of a request, and the most lines in it: browsers need a tenth of that.
const LONGEST: usize = 16 * 1024;
const MOST: usize = 100;

#[derive(Debug, PartialEq, Eq)]
pub(super) struct Request {
    pub(super) method: String,
    pub(super) path: String,
    hosts: Vec<String>,
}

#[derive(Debug, PartialEq, Eq)]
pub(super) enum Asked {
    This(Request),
    Nonsense,
}

impl Request {
    /// It names a host, and none but these.
    pub(super) fn is_for(&self, own: &[String]) -> bool {
        let ours = |host: &String| own.iter().any(|own| own.eq_ignore_ascii_case(host));
        !self.hosts.is_empty() && self.hosts.iter().all(ours)
    }
}

/// The head of a request. Errors: it does not come, or not in time.
pub(super) fn read(from: &mut impl Read, patience: Duration) -> io::Result<Asked> {
    let begun = Instant::now();
    let mut bytes = Vec::new();
    let mut more = [0; 4096];
    loop {
        match from.read(&mut more)? {
            0 => return Err(io::ErrorKind::UnexpectedEof.into()),
            count => bytes.extend_from_slice(&more[..count]),
        }
        if let Some(asked) = parse(&bytes) {
            return Ok(asked);
        }
        if begun.elapsed() > patience {
            return Err(io::ErrorKind::TimedOut.into());
        }
    }
}

/// `None` where more has to come.
fn parse(bytes: &[u8]) -> Option<Asked> {
    let mut lines = [httparse::EMPTY_HEADER; MOST];
    let mut head = httparse::Request::new(&mut lines);
    match head.parse(bytes) {
        Ok(httparse::Status::Partial) if bytes.len() < LONGEST => None,
        Ok(httparse::Status::Complete(_)) => {
            let hosts = head.headers.iter().filter(|line| line.name.eq_ignore_ascii_case("host"));
            let hosts = hosts.map(|line| String::from_utf8_lossy(line.value).into_owned()).collect();
            let (method, path) = (head.method?.to_owned(), head.path?.to_owned());
            Some(Asked::This(Request { method, path, hosts }))
        }
        _ => Some(Asked::Nonsense),
    }
}

#[cfg(test)]
mod tests {
    use super::{Asked, LONGEST, parse};

    #[track_caller]
    fn check(head: &str, ours: bool) {
        let Some(Asked::This(request)) = parse(head.as_bytes()) else { panic!("{head:?} is no request") };
        assert_eq!(request.is_for(&["127.0.0.1:8421".to_owned()]), ours, "{head:?}");
    }

    #[test]
    fn a_request_is_for_the_hosts_that_it_names() {
        check("GET / HTTP/1.1\r\nHost: 127.0.0.1:8421\r\n\r\n", true);
        check("GET / HTTP/1.1\r\nhOST:127.0.0.1:8421\r\nX: y\r\n\r\n", true);
        check("GET / HTTP/1.1\r\nHost: 127.0.0.1:8421\r\nHost: van.example\r\n\r\n", false);
        check("GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n", false);
        check("GET / HTTP/1.1\r\n\r\n", false);
    }

    #[test]
    fn half_a_request_is_waited_for_and_nonsense_is_not() {
        assert_eq!(parse(b"GET / HTTP/1.1\r\nHost: 127"), None);
        assert_eq!(parse(b"\x16\x03\x01\x02"), Some(Asked::Nonsense));
        assert_eq!(parse(b"GET / HTTP/9\r\n\r\n"), Some(Asked::Nonsense));
        let endless = format!("GET / HTTP/1.1\r\nX: {}", "y".repeat(LONGEST));
        assert_eq!(parse(endless.as_bytes()), Some(Asked::Nonsense));
    }
}

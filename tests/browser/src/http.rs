//! A very small HTTP client for one request at a time to the program under test.
//!
//! It speaks HTTP/1.1 with `Connection: close`, to 127.0.0.1 only, and follows no redirect.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use anyhow::{Context, Result, bail, ensure};

/// What came back.
#[derive(Debug)]
pub struct Response {
    /// The status, such as 200.
    pub status: u16,
    /// The header lines as they came, in one text.
    pub head: String,
    /// The body, chunks put together.
    pub body: Vec<u8>,
}

impl Response {
    /// The first header of this name.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().find_map(|line| {
            let (key, value) = line.split_once(':')?;
            key.eq_ignore_ascii_case(name).then(|| value.trim())
        })
    }

    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

/// GET a path of `http://127.0.0.1:PORT`.
///
/// # Errors
/// No connection, or an answer that is not whole.
pub fn get(base: &str, path: &str) -> Result<Response> {
    request(base, "GET", path, "")
}

/// POST a form, its fields given as pairs.
///
/// # Errors
/// No connection, or an answer that is not whole: then it is unknown whether it was carried out.
pub fn post(base: &str, path: &str, fields: &[(&str, &str)]) -> Result<Response> {
    let pairs: Vec<String> = fields
        .iter()
        .map(|(name, value)| format!("{}={}", escape(name), escape(value)))
        .collect();
    request(base, "POST", path, &pairs.join("&"))
}

/// POSTs a form that must be taken: the program then leads on to another page.
///
/// # Errors
/// As for [`post`]; or it was refused, and with what.
pub fn take(base: &str, path: &str, fields: &[(&str, &str)]) -> Result<()> {
    let answer = post(base, path, fields)?;
    ensure!(
        answer.status == 303,
        "{path}: {} {}",
        answer.status,
        answer.text()
    );
    Ok(())
}

fn request(base: &str, method: &str, path: &str, body: &str) -> Result<Response> {
    let host = base
        .strip_prefix("http://")
        .filter(|host| host.starts_with("127.0.0.1:"))
        .with_context(|| format!("`{base}` is not http://127.0.0.1:PORT"))?;
    let mut stream = TcpStream::connect(host)?;
    stream.set_read_timeout(Some(Duration::from_secs(60)))?;
    let kind = "application/x-www-form-urlencoded";
    let length = body.len();
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: {base}\r\nConnection: close\r\n\
         Content-Type: {kind}\r\nContent-Length: {length}\r\n\r\n{body}"
    );
    stream.write_all(head.as_bytes())?;
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes)?;
    parse(&bytes)
}

fn parse(bytes: &[u8]) -> Result<Response> {
    let gap = bytes.windows(4).position(|four| four == b"\r\n\r\n");
    let gap = gap.context("the answer ended within its headers")?;
    let head = String::from_utf8_lossy(&bytes[..gap]).into_owned();
    let rest = &bytes[gap + 4..];
    let status = head.split(' ').nth(1).and_then(|code| code.parse().ok());
    let mut response = Response {
        status: status.context("the answer has no status")?,
        head,
        body: Vec::new(),
    };
    if response.header("transfer-encoding") == Some("chunked") {
        response.body = chunks(rest)?;
    } else {
        let length = response.header("content-length").map(str::parse::<usize>);
        let length = length.transpose()?.unwrap_or(rest.len());
        if rest.len() < length {
            bail!("the answer ended after {} of {length} bytes", rest.len());
        }
        response.body = rest[..length].to_vec();
    }
    Ok(response)
}

fn chunks(mut rest: &[u8]) -> Result<Vec<u8>> {
    let mut body = Vec::new();
    loop {
        let end = rest.windows(2).position(|two| two == b"\r\n");
        let end = end.context("a chunk without a size")?;
        let size = usize::from_str_radix(std::str::from_utf8(&rest[..end])?.trim(), 16)?;
        let chunk = rest.get(end + 2..end + 2 + size);
        body.extend(chunk.context("the answer ended within a chunk")?);
        if size == 0 {
            return Ok(body);
        }
        rest = rest
            .get(end + size + 4..)
            .context("a chunk without an end")?;
    }
}

fn escape(text: &str) -> String {
    let mut escaped = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-_.~".contains(&byte) {
            escaped.push(char::from(byte));
        } else {
            escaped.push_str(&format!("%{byte:02X}"));
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::{escape, parse};

    #[test]
    fn whole_answers_are_read_and_cut_ones_refused() {
        let plain = parse(b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\nok").unwrap();
        assert_eq!((plain.status, plain.text().as_str()), (200, "ok"));
        let chunked =
            b"HTTP/1.1 200 OK\r\ntransfer-encoding: chunked\r\n\r\n3\r\nabc\r\n1\r\nd\r\n0\r\n\r\n";
        assert_eq!(parse(chunked).unwrap().text(), "abcd");
        assert!(parse(b"HTTP/1.1 200 OK\r\nContent-Length: 5\r\n\r\nok").is_err());
        assert!(parse(&chunked[..chunked.len() - 12]).is_err());
        assert!(parse(b"HTTP/1.1 200 OK\r\nConten").is_err());
    }

    #[test]
    fn forms_are_escaped() {
        assert_eq!(escape("a b&c=é"), "a%20b%26c%3D%C3%A9");
    }
}

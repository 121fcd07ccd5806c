//! Requests that never become one: a head that is not HTTP, an address or headers beyond the limits of the HTTP library.
//!
//! The library answers them itself, with a bare head, and nothing of the router sees them. On its way out such an answer gets
//! the problem and the fixed headers that every other error has.

use super::layers::{FIXED, fresh_id};
use super::problem::{self, HEADERS, Kind, Problem};
use std::fmt::Write as _;
use std::io::{Error, IoSlice, Result};
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};

/// The end of a head.
const END: &[u8] = b"\r\n\r\n";
/// What the library says of the body it does not send.
const NO_BODY: &str = "\r\ncontent-length: 0\r\n";

/// A connection whose bare refusals are given their problem.
#[derive(Debug)]
pub struct Told<S> {
    stream: S,
    /// The answer that stands for a refusal, as far as it is not sent.
    waiting: Vec<u8>,
}

impl<S> Told<S> {
    /// Around a connection.
    pub const fn new(stream: S) -> Self {
        Self { stream, waiting: Vec::new() }
    }
}

/// The kind of a bare refusal and what to say of it; `None` for everything else that is sent.
fn refusal(head: &[u8]) -> Option<(Kind, &'static str)> {
    let status = head.strip_prefix(b"HTTP/1.1 ").or_else(|| head.strip_prefix(b"HTTP/1.0 "))?.get(..4)?;
    let told = match status {
        b"400 " => (
            problem::NOT_HTTP,
            "the first line, the headers or the length of the body are not HTTP/1.1; the connection is closed",
        ),
        b"414 " => {
            (problem::ADDRESS_TOO_LONG, "an address has at most 65534 bytes; the connection is closed")
        }
        b"431 " => (
            problem::HEADERS_TOO_LARGE,
            "a request has at most 100 headers and a head of at most 400 kB; the connection is closed",
        ),
        _ => return None,
    };
    let bare = head.ends_with(END) && head.windows(NO_BODY.len()).any(|part| part == NO_BODY.as_bytes());
    bare.then_some(told)
}

/// The refusal with its problem.
fn in_full(head: &[u8], kind: Kind, detail: &'static str) -> Vec<u8> {
    let id = fresh_id();
    tracing::info!(request_id = %id, status = kind.status, "request refused");
    let body = serde_json::to_vec(&Problem::new(kind, detail).body(&id)).unwrap_or_default();
    let mut headers = String::from("\r\n");
    for (name, value) in HEADERS.iter().chain(&FIXED) {
        // writing to a string does not fail
        let _ = write!(headers, "{name}: {value}\r\n");
    }
    let _ = write!(headers, "content-length: {}\r\n", body.len());
    let mut answer = String::from_utf8_lossy(head).replacen(NO_BODY, &headers, 1).into_bytes();
    answer.extend(body);
    answer
}

impl<S: AsyncWrite + Unpin> Told<S> {
    /// Sends what waits.
    fn send_waiting(&mut self, cx: &mut Context<'_>) -> Poll<Result<()>> {
        while !self.waiting.is_empty() {
            let sent = ready!(Pin::new(&mut self.stream).poll_write(cx, &self.waiting))?;
            if sent == 0 {
                return Poll::Ready(Err(Error::from(std::io::ErrorKind::WriteZero)));
            }
            self.waiting.drain(..sent.min(self.waiting.len()));
        }
        Poll::Ready(Ok(()))
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Told<S> {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, into: &mut ReadBuf<'_>) -> Poll<Result<()>> {
        Pin::new(&mut self.stream).poll_read(cx, into)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Told<S> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<Result<usize>> {
        ready!(self.send_waiting(cx))?;
        match refusal(bytes) {
            Some((kind, detail)) => {
                self.waiting = in_full(bytes, kind, detail);
                // What cannot be sent now is sent before anything else, at the latest when the connection is flushed.
                let _ = self.send_waiting(cx)?;
                Poll::Ready(Ok(bytes.len()))
            }
            None => Pin::new(&mut self.stream).poll_write(cx, bytes),
        }
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        parts: &[IoSlice<'_>],
    ) -> Poll<Result<usize>> {
        ready!(self.send_waiting(cx))?;
        match parts {
            // a head without a body comes alone
            [head] => self.poll_write(cx, head),
            _ => Pin::new(&mut self.stream).poll_write_vectored(cx, parts),
        }
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Result<()>> {
        ready!(self.send_waiting(cx))?;
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Result<()>> {
        ready!(self.send_waiting(cx))?;
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where a pipe in memory does not work")]

    use super::*;
    use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _, duplex};

    const BARE: &[u8] =
        b"HTTP/1.1 414 URI Too Long\r\nconnection: close\r\ncontent-length: 0\r\ndate: today\r\n\r\n";

    /// What arrives of what is written, with room for so many bytes at a time between the two.
    async fn arrives(written: &'static [u8], room: usize) -> String {
        let (near, mut far) = duplex(room);
        let writing = tokio::spawn(async move {
            let mut near = Told::new(near);
            near.write_all(written).await.unwrap();
            near.shutdown().await.unwrap();
        });
        let mut arrived = String::new();
        far.read_to_string(&mut arrived).await.unwrap();
        writing.await.unwrap();
        arrived
    }

    #[tokio::test]
    async fn a_bare_refusal_gets_its_problem_however_little_is_sent_at_a_time() {
        for room in [1, 7, 100, 4096] {
            let arrived = arrives(BARE, room).await;
            let (head, body) = arrived.split_once("\r\n\r\n").unwrap();
            assert!(head.starts_with("HTTP/1.1 414 URI Too Long\r\nconnection: close\r\n"), "{head}");
            assert!(head.ends_with("\r\ndate: today"), "{head}");
            assert!(head.contains(&format!("\r\ncontent-length: {}\r\n", body.len())), "{head}\n{body}");
            assert!(body.starts_with("{\"type\":\"/problems/address-too-long\""), "{body}");
        }
    }

    #[tokio::test]
    async fn everything_else_goes_out_as_it_came() {
        for written in [
            "HTTP/1.1 400 Bad Request\r\ncontent-length: 2\r\n\r\n{}",
            "HTTP/1.1 200 OK\r\ncontent-length: 0\r\n\r\n",
            "HTTP/1.1 414 URI Too Long\r\ncontent-length: 0\r\n",
            "{\"HTTP/1.1 414 \": \"content-length: 0\"}\r\n\r\n",
            "",
        ] {
            assert_eq!(arrives(written.as_bytes(), 4096).await, written);
        }
    }
}

//! Clients that do not take their answer: a connection on which nothing can be sent for a while is closed. What waits to be sent is
//! held in memory, and a client that never reads would hold it for ever.

use std::future::Future as _;
use std::io::{Error, ErrorKind, IoSlice, Result};
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::{Sleep, sleep};

/// A connection that waits so long, and no longer, for the other side to take something.
#[derive(Debug)]
pub struct Patient<S> {
    stream: S,
    patience: Duration,
    /// When it ends, while the other side takes nothing.
    ends: Option<Pin<Box<Sleep>>>,
}

impl<S> Patient<S> {
    /// Around a connection.
    pub const fn new(stream: S, patience: Duration) -> Self {
        Self { stream, patience, ends: None }
    }

    /// What came of sending; an error where it has come to nothing for too long.
    fn within<T>(&mut self, cx: &mut Context<'_>, came: Poll<Result<T>>) -> Poll<Result<T>> {
        if came.is_ready() {
            self.ends = None;
            return came;
        }
        let patience = self.patience;
        let ends = self.ends.get_or_insert_with(|| Box::pin(sleep(patience)));
        match ends.as_mut().poll(cx) {
            Poll::Ready(()) => {
                let told = "the client took nothing of its answer for too long";
                Poll::Ready(Err(Error::new(ErrorKind::TimedOut, told)))
            }
            Poll::Pending => Poll::Pending,
        }
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Patient<S> {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, into: &mut ReadBuf<'_>) -> Poll<Result<()>> {
        Pin::new(&mut self.stream).poll_read(cx, into)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Patient<S> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<Result<usize>> {
        let came = Pin::new(&mut self.stream).poll_write(cx, bytes);
        self.within(cx, came)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        parts: &[IoSlice<'_>],
    ) -> Poll<Result<usize>> {
        let came = Pin::new(&mut self.stream).poll_write_vectored(cx, parts);
        self.within(cx, came)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where a pipe in memory does not work")]

    use super::*;
    use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _, duplex};
    use tokio::time::Instant;

    const PATIENCE: Duration = Duration::from_millis(300);

    #[tokio::test]
    async fn who_takes_nothing_is_given_up() {
        let (near, mut far) = duplex(10);
        let mut near = Patient::new(near, PATIENCE);
        let started = Instant::now();
        let refused = tokio::time::timeout(20 * PATIENCE, near.write_all(&[7; 25])).await.unwrap();
        assert_eq!(refused.unwrap_err().kind(), ErrorKind::TimedOut);
        assert!(started.elapsed() >= PATIENCE.mul_f64(0.9), "{:?}", started.elapsed());
        drop(near);
        let mut arrived = Vec::new();
        far.read_to_end(&mut arrived).await.unwrap();
        assert_eq!(arrived, [7; 10]);
    }

    #[tokio::test]
    async fn who_takes_a_little_at_a_time_gets_all_of_it() {
        let (near, mut far) = duplex(10);
        let started = Instant::now();
        let sent = tokio::spawn(async move { Patient::new(near, PATIENCE).write_all(&[7; 100]).await });
        let mut arrived = Vec::new();
        while arrived.len() < 100 {
            tokio::time::sleep(PATIENCE / 5).await;
            let mut part = [0; 10];
            let length = far.read(&mut part).await.unwrap();
            arrived.extend_from_slice(&part[..length]);
        }
        sent.await.unwrap().unwrap();
        assert_eq!(arrived, [7; 100]);
        assert!(started.elapsed() > PATIENCE, "it took no longer than nothing may");
    }
}

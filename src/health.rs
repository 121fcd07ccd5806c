//! The health check of a running service, for a container that has no other program.

use std::error::Error;
use std::net::SocketAddr;
use std::time::Duration;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};

/// Asks `/readyz` of a running service.
///
/// # Errors
/// When it does not answer 200 within three seconds.
pub async fn check(address: SocketAddr) -> Result<(), Box<dyn Error>> {
    let asked = async {
        let mut stream = tokio::net::TcpStream::connect(address).await?;
        stream
            .write_all(
                format!("GET /readyz HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n").as_bytes(),
            )
            .await?;
        let mut head = [0_u8; 64];
        let read = stream.read(&mut head).await?;
        Ok::<bool, std::io::Error>(head.get(..read).is_some_and(|h| h.starts_with(b"HTTP/1.1 200")))
    };
    match tokio::time::timeout(Duration::from_secs(3), asked).await {
        Ok(Ok(true)) => Ok(()),
        Ok(Ok(false)) => Err("the service is not ready".into()),
        Ok(Err(error)) => Err(format!("the service does not answer: {error}").into()),
        Err(_) => Err("the service does not answer within 3 seconds".into()),
    }
}

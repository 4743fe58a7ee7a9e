//! Connections: at most 32, each on its own, so that one that stalls keeps nobody waiting; who comes when all are
//! taken waits for one to end. A head that is not complete within 5 s is answered with 408; an answer that is not
//! taken within 5 s ends the connection.

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncWrite, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio_io_timeout::TimeoutStream;

/// Connections at the same time.
pub(super) const MOST_CONNECTIONS: usize = 32;
/// Time for the head of a request, and for an answer to be taken.
const DEADLINE: Duration = Duration::from_secs(5);
/// Longest head of a request, bytes.
const LONGEST_HEAD: usize = 16 * 1024;

const TOO_LATE: &[u8] =
    b"HTTP/1.1 408 Request Timeout\r\nconnection: close\r\ncontent-type: application/json\r\n\
    content-length: 48\r\n\r\n{\"error\":\"the request did not come within 5 s\"}\n";

/// Accepts for ever.
pub(super) async fn serve(listener: TcpListener, app: Router) {
    let slots = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    // Who is refused is a script that does not load, so a dozen pages opened at once would all stay empty; in the
    // system's queue they wait for milliseconds.
    while let Ok(slot) = Arc::clone(&slots).acquire_owned().await {
        let Ok((stream, _)) = listener.accept().await else {
            // out of file handles, for instance: others will end
            tokio::time::sleep(Duration::from_millis(20)).await;
            continue;
        };
        let app = app.clone();
        tokio::spawn(async move {
            connection(stream, app).await;
            drop(slot);
        });
    }
}

async fn connection(stream: TcpStream, app: Router) {
    // an answer is one small write; waiting to fill a packet only costs time
    let _ = stream.set_nodelay(true);
    let mut stream = TimeoutStream::new(stream);
    stream.set_write_timeout(Some(DEADLINE));
    let mut connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(DEADLINE)
        .max_buf_size(LONGEST_HEAD)
        // who has said all may close that side and still be answered
        .half_close(true)
        .serve_connection(TokioIo::new(Box::pin(stream)), TowerToHyperService::new(app));
    let ended = std::future::poll_fn(|context| connection.poll_without_shutdown(context)).await;
    let parts = connection.into_parts();
    let io = parts.io.into_inner();
    match ended {
        // a head that was begun; one that never came is just closed
        Err(e) if e.is_timeout() && !parts.read_buf.is_empty() => last_word(io, TOO_LATE).await,
        _ => last_word(io, b"").await,
    }
}

/// Says it, if it is taken at once, and closes.
async fn last_word(mut stream: impl AsyncWrite + Unpin, text: &[u8]) {
    let said = async {
        let _ = stream.write_all(text).await;
        let _ = stream.shutdown().await;
    };
    let _ = tokio::time::timeout(Duration::from_millis(200), said).await;
}

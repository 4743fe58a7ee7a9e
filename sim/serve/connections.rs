//! Connections: at most 512, each in a task of its own, so that a stalled one delays no other; a further one waits
//! until one ends. A request head that is not complete within 5 s gets 408; a client that does not take its answer
//! within 5 s is disconnected. Where many are open the time is no shorter: a browser opens connections before it needs
//! them, and a page whose script was refused stays empty.

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
pub(super) const MOST_CONNECTIONS: usize = 512;
/// Time for the head of a request, and for the client to take the answer.
const DEADLINE: Duration = Duration::from_secs(5);
/// Longest head of a request, bytes.
const LONGEST_HEAD: usize = 16 * 1024;

const TOO_LATE: &[u8] =
    b"HTTP/1.1 408 Request Timeout\r\nconnection: close\r\ncontent-type: application/json\r\n\
    content-length: 45\r\n\r\n{\"error\":\"the request did not come in time\"}\n";

/// Accepts for ever.
pub(super) async fn serve(listener: TcpListener, app: Router) {
    let slots = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    // Refusing a connection would leave a page without a script, so a dozen pages opened at once would stay empty;
    // in the queue of the system they wait for milliseconds.
    while let Ok(slot) = Arc::clone(&slots).acquire_owned().await {
        let Ok((stream, _)) = listener.accept().await else {
            // for instance no file handles left: other connections will end
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
    // an answer is one small write: do not wait to fill a packet
    let _ = stream.set_nodelay(true);
    let mut stream = TimeoutStream::new(stream);
    stream.set_write_timeout(Some(DEADLINE));
    let mut connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(DEADLINE)
        .max_buf_size(LONGEST_HEAD)
        // a client may close its sending side and still get an answer
        .half_close(true)
        .serve_connection(TokioIo::new(Box::pin(stream)), TowerToHyperService::new(app));
    let ended = std::future::poll_fn(|context| connection.poll_without_shutdown(context)).await;
    let parts = connection.into_parts();
    let io = parts.io.into_inner();
    match ended {
        // the head has begun; a connection without one is just closed
        Err(e) if e.is_timeout() && !parts.read_buf.is_empty() => last_word(io, TOO_LATE).await,
        _ => last_word(io, b"").await,
    }
}

/// Sends a text if the client takes it at once, and closes.
async fn last_word(mut stream: impl AsyncWrite + Unpin, text: &[u8]) {
    let said = async {
        let _ = stream.write_all(text).await;
        let _ = stream.shutdown().await;
    };
    let _ = tokio::time::timeout(Duration::from_millis(200), said).await;
}

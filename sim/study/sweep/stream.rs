//! A sweep window by window: one thread lets all cores compute, the caller takes what is ready.

use std::ops::Range;
use std::sync::mpsc::{SyncSender, sync_channel};
use std::time::{Duration, Instant};

use super::{RowBlock, Sweep, Tables, Tick};
use crate::error::SimError;

/// A window takes about a second: rarely enough to write it, and soon enough to stop after it.
const SHORT: Duration = Duration::from_millis(500);
const LONG: Duration = Duration::from_secs(2);
/// Most rows of a window, which bounds the memory.
const MOST_ROWS: u64 = 131_072;

impl Sweep {
    /// Runs rows (from 0) window by window. `make` turns each block into what is needed of it, on the core that ran it;
    /// `take` gets what was made of a window, in order, on the calling thread, while the next one is computed. It stops
    /// the run by false or an error. Returns whether all was taken.
    ///
    /// # Errors
    /// That of `take`.
    pub fn stream<T: Send>(
        &self,
        rows: Range<u64>,
        tick: Tick,
        make: impl Fn(RowBlock) -> T + Sync,
        mut take: impl FnMut(Vec<T>) -> Result<bool, SimError>,
    ) -> Result<bool, SimError> {
        let (send, receive) = sync_channel(1);
        let make = &make;
        std::thread::scope(|scope| {
            scope.spawn(move || self.send_windows(rows, tick, make, &send));
            for window in receive {
                if !take(window)? {
                    return Ok(false);
                }
            }
            Ok(true)
        })
    }

    fn send_windows<T: Send>(
        &self,
        rows: Range<u64>,
        tick: Tick,
        make: &(impl Fn(RowBlock) -> T + Sync),
        send: &SyncSender<Vec<T>>,
    ) {
        let tables = Tables::default();
        let (mut at, mut blocks) = (rows.start, 1);
        while at < rows.end {
            let begun = Instant::now();
            let size = self.rows_at_once();
            let end = rows.end.min((at / size + blocks) * size);
            if send.send(self.blocks(at..end, &tables, tick, make)).is_err() {
                return;
            }
            at = end;
            let took = begun.elapsed();
            if took < SHORT {
                blocks = (2 * blocks).min(MOST_ROWS / size);
            } else if took > LONG {
                blocks = (blocks / 2).max(1);
            }
        }
    }
}

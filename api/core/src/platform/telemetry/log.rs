//! Log lines on standard error, for which no request waits.
//!
//! The reader of standard error may stop reading, its disk may be full, or there may be none. So lines go into a queue
//! of limited size, and a thread of its own writes them. A line that finds the queue full, or that can't be written, is
//! lost and counted: the metric `log_lines_lost_total` shows the count at once, and a line of the log does so as soon
//! as one can be written again.
//!
//! A crash of the program can therefore cost the lines of its last milliseconds.

use std::io::{self, ErrorKind, IsTerminal, Write};
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, SyncSender, channel, sync_channel};
use std::time::{Duration, Instant};

use tracing_subscriber::EnvFilter;
use tracing_subscriber::fmt::MakeWriter;

/// Bytes of lines that may wait to be written.
const MOST_WAITING: usize = 4 << 20;

/// Minimum interval between two reports of lost lines.
const REPORT_EVERY: Duration = Duration::from_secs(1);

/// Maximum time that the end of the program waits for lines to be written.
const LAST_PATIENCE: Duration = Duration::from_secs(2);

/// Time that the writer waits before it tries again if standard error accepts nothing.
const PAUSE: Duration = Duration::from_millis(10);

static COUNTS: Counts = Counts { waiting: AtomicUsize::new(0), lost: AtomicU64::new(0) };

/// Counts of the lines of a queue.
struct Counts {
    /// Bytes that wait.
    waiting: AtomicUsize,
    /// Lines that were lost since the start.
    lost: AtomicU64,
}

/// Number of log lines that were lost since the program started.
pub fn lost() -> u64 {
    COUNTS.lost.load(Ordering::Relaxed)
}

enum Item {
    Line(Vec<u8>),
    /// Everything before this was handled.
    Flush(SyncSender<()>),
}

/// The queue's entrance; all threads share it.
struct Queue {
    items: Sender<Item>,
    counts: &'static Counts,
}

/// Handle of the running log. When it is dropped, waiting lines are written, unless that takes too long.
pub struct Logging {
    items: Sender<Item>,
}

/// Whether log lines may have colours: only at a terminal, and not if `NO_COLOR` is set and not empty (the convention of that
/// name).
fn is_coloured() -> bool {
    io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|no| no.is_empty())
}

/// Starts logging: JSON lines, or plain ones for a person. An example of `filter` is `info,access=warn`. Panics are logged
/// as well.
///
/// # Errors
/// If the thread that writes can't be started.
pub fn start(json: bool, filter: &str) -> io::Result<Logging> {
    let filter = EnvFilter::try_new(filter).unwrap_or_else(|_| EnvFilter::new("info"));
    let (items, queue) = channel();
    std::thread::Builder::new().name("log".to_owned()).spawn(move || write_all(&queue, &mut io::stderr(), &COUNTS))?;
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(is_coloured())
        // The library would write its own errors to standard error, and panic if that fails.
        .log_internal_errors(false)
        .with_writer(Queue { items: items.clone(), counts: &COUNTS });
    // A second start in one process keeps the first.
    let _ = if json { log.json().try_init() } else { log.compact().try_init() };
    // The default hook waits for standard error.
    std::panic::set_hook(Box::new(|panic| {
        let place = panic.location().map(ToString::to_string);
        tracing::error!(place, said = panic.payload_as_str(), "panicked; this is a defect");
    }));
    Ok(Logging { items })
}

impl Drop for Logging {
    fn drop(&mut self) {
        let (done, written) = sync_channel(1);
        if self.items.send(Item::Flush(done)).is_ok() {
            // A reader that has not read by now will not read the rest either.
            let _ = written.recv_timeout(LAST_PATIENCE);
        }
    }
}

impl<'q> MakeWriter<'q> for Queue {
    type Writer = &'q Queue;

    fn make_writer(&'q self) -> &'q Queue {
        self
    }
}

impl Write for &Queue {
    /// Takes a whole line, which the formatter passes at once, and always reports success.
    fn write(&mut self, line: &[u8]) -> io::Result<usize> {
        let before = self.counts.waiting.fetch_add(line.len(), Ordering::Relaxed);
        let room = before + line.len() <= MOST_WAITING;
        if !room || self.items.send(Item::Line(line.to_vec())).is_err() {
            self.counts.waiting.fetch_sub(line.len(), Ordering::Relaxed);
            self.counts.lost.fetch_add(1, Ordering::Relaxed);
        }
        Ok(line.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Writes the lines of the queue, until all its senders are gone.
fn write_all(queue: &Receiver<Item>, out: &mut impl Write, counts: &Counts) {
    let (mut reported, mut last) = (0, None::<Instant>);
    let mut torn = false;
    loop {
        let writable = match queue.recv_timeout(REPORT_EVERY) {
            Ok(Item::Line(line)) => {
                let written = put(out, &line, &mut torn);
                counts.waiting.fetch_sub(line.len(), Ordering::Relaxed);
                if !written {
                    counts.lost.fetch_add(1, Ordering::Relaxed);
                }
                written
            }
            Ok(Item::Flush(done)) => {
                let _ = done.try_send(());
                continue;
            }
            // In a quiet log, only the report that is still due has to be written.
            Err(RecvTimeoutError::Timeout) => true,
            Err(RecvTimeoutError::Disconnected) => return,
        };
        let lost = counts.lost.load(Ordering::Relaxed);
        if writable && lost > reported && last.is_none_or(|last| last.elapsed() >= REPORT_EVERY) {
            (reported, last) = (lost, Some(Instant::now()));
            tracing::warn!(target: "log", lost, "lines of this log were lost since the start: they could not be written");
        }
    }
}

/// Writes a line, and returns whether it was written. A line that broke off is ended before the next one begins.
fn put(out: &mut impl Write, line: &[u8], torn: &mut bool) -> bool {
    if *torn && put_bytes(out, b"\n").is_err() {
        return false;
    }
    match put_bytes(out, line) {
        Ok(()) => {
            *torn = false;
            true
        }
        Err(some) => {
            *torn = some;
            false
        }
    }
}

/// Writes all bytes, or returns whether some of them were written.
fn put_bytes(out: &mut impl Write, bytes: &[u8]) -> Result<(), bool> {
    let mut left = bytes;
    while !left.is_empty() {
        match out.write(left) {
            Ok(0) => return Err(left.len() < bytes.len()),
            Ok(count) => left = &left[count..],
            Err(error) => match error.kind() {
                ErrorKind::Interrupted => {}
                ErrorKind::WouldBlock => std::thread::sleep(PAUSE),
                _ => return Err(left.len() < bytes.len()),
            },
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Accepts a number of bytes, then fails until it gets more room.
    struct Disk {
        taken: Vec<u8>,
        room: usize,
    }

    impl Write for Disk {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            let count = bytes.len().min(self.room);
            if count == 0 {
                return Err(io::Error::from(ErrorKind::StorageFull));
            }
            self.taken.extend_from_slice(&bytes[..count]);
            self.room -= count;
            Ok(count)
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    fn counts() -> &'static Counts {
        Box::leak(Box::new(Counts { waiting: AtomicUsize::new(0), lost: AtomicU64::new(0) }))
    }

    #[test]
    fn a_line_that_broke_off_is_ended_before_the_next_one() {
        let (mut disk, mut torn) = (Disk { taken: Vec::new(), room: 9 }, false);
        assert!(put(&mut disk, b"first\n", &mut torn));
        assert!(!put(&mut disk, b"second\n", &mut torn));
        assert!(!put(&mut disk, b"third\n", &mut torn));
        disk.room = 100;
        assert!(put(&mut disk, b"fourth\n", &mut torn));
        assert!(put(&mut disk, b"fifth\n", &mut torn));
        assert_eq!(String::from_utf8(disk.taken).unwrap(), "first\nsec\nfourth\nfifth\n");
    }

    #[test]
    fn a_queue_whose_reader_stands_still_takes_no_more_than_it_may_and_counts_the_rest() {
        let (items, queue) = channel();
        let entrance = Queue { items, counts: counts() };
        let line = vec![b'x'; 1 << 20];
        for _ in 0..10 {
            assert_eq!((&entrance).write(&line).unwrap(), line.len());
        }
        assert_eq!(entrance.counts.lost.load(Ordering::Relaxed), 6);
        let counts = entrance.counts;
        drop(entrance);
        let mut disk = Disk { taken: Vec::new(), room: usize::MAX };
        write_all(&queue, &mut disk, counts);
        assert_eq!((disk.taken.len(), counts.waiting.load(Ordering::Relaxed)), (4 << 20, 0));
    }
}

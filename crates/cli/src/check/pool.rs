//! Work on all cores whose results come in the order of the work.

use std::{
    collections::BTreeMap,
    io,
    sync::{
        atomic::{AtomicBool, AtomicUsize, Ordering},
        mpsc,
    },
    thread,
};

/// How far the threads may run ahead of the piece whose result is awaited: results wait in memory meanwhile.
const AHEAD: usize = 4_096;

/// Works on the pieces 0 to `count` on so many threads, one for each core where nothing is said, and hands over each
/// result in the order of the pieces, as soon as all before it are there. `make` gives each thread what it keeps between
/// pieces. Once `stop` is set no piece is begun any more.
///
/// # Errors
/// The first one that `each` gives; nothing is begun after it.
pub fn in_order<W, T: Send>(
    count: usize,
    jobs: Option<usize>,
    stop: &AtomicBool,
    make: impl Fn() -> W + Sync,
    work: impl Fn(&mut W, usize) -> T + Sync,
    mut each: impl FnMut(usize, T) -> io::Result<()>,
) -> io::Result<()> {
    let cores = || thread::available_parallelism().map_or(1, usize::from);
    let jobs = jobs.unwrap_or_else(cores).min(count);
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let over = AtomicBool::new(false);
    let ended = || stop.load(Ordering::Relaxed) || over.load(Ordering::Relaxed);
    thread::scope(|scope| {
        let (send, receive) = mpsc::channel();
        let mut threads = 0;
        for _ in 0..if jobs > 1 { jobs } else { 0 } {
            let send = send.clone();
            let (next, done, make, work, ended) = (&next, &done, &make, &work, &ended);
            let turn = move || {
                let mut worker = make();
                loop {
                    let piece = next.fetch_add(1, Ordering::Relaxed);
                    while piece > done.load(Ordering::Relaxed) + AHEAD && !ended() {
                        thread::sleep(std::time::Duration::from_millis(1));
                    }
                    if piece >= count || ended() || send.send((piece, work(&mut worker, piece))).is_err() {
                        return;
                    }
                }
            };
            threads += usize::from(thread::Builder::new().spawn_scoped(scope, turn).is_ok());
        }
        drop(send);
        // Where the system gives no thread, or one is enough, this one does the work.
        if threads == 0 {
            let mut worker = make();
            return (0..count)
                .take_while(|_| !ended())
                .try_for_each(|piece| each(piece, work(&mut worker, piece)));
        }
        let mut waiting = BTreeMap::new();
        let mut awaited = 0;
        for (piece, result) in receive {
            waiting.insert(piece, result);
            while let Some(result) = waiting.remove(&awaited) {
                if let Err(error) = each(awaited, result) {
                    over.store(true, Ordering::Relaxed);
                    return Err(error);
                }
                awaited += 1;
                done.store(awaited, Ordering::Relaxed);
            }
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gathered(count: usize, jobs: usize, stop: &AtomicBool, limit: usize) -> (Vec<usize>, bool) {
        let mut seen = Vec::new();
        let work = |_: &mut (), piece: usize| {
            // Later pieces are done first where that can be.
            thread::sleep(std::time::Duration::from_micros(if piece % 7 == 0 { 300 } else { 1 }));
            piece * 10
        };
        let done = in_order(
            count,
            Some(jobs),
            stop,
            || (),
            work,
            |piece, result| {
                assert_eq!(result, piece * 10);
                seen.push(piece);
                if seen.len() == limit { Err(io::Error::other("enough")) } else { Ok(()) }
            },
        );
        (seen, done.is_ok())
    }

    #[test]
    fn results_come_in_order_whatever_the_threads() {
        for jobs in [1, 2, 5] {
            let (seen, whole) = gathered(300, jobs, &AtomicBool::new(false), usize::MAX);
            assert_eq!((seen, whole), ((0..300).collect(), true), "{jobs} threads");
        }
        assert_eq!(gathered(0, 2, &AtomicBool::new(false), 1), (vec![], true));
    }

    #[test]
    fn an_error_or_the_wish_to_stop_ends_it() {
        for jobs in [1, 3] {
            assert_eq!(gathered(300, jobs, &AtomicBool::new(false), 5), ((0..5).collect(), false));
            assert_eq!(gathered(300, jobs, &AtomicBool::new(true), usize::MAX), (vec![], true));
        }
    }
}

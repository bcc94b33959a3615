//! Rows of a picture in bands, which all threads work on.

use std::sync::Mutex;

/// Rows in a band.
pub(super) const BAND: usize = 16;

/// Does `work` once for each band, with its number, on as many threads as the machine has cores. A band sees
/// nothing of the others', so the outcome doesn't depend on how many threads there are.
pub(super) fn in_bands<T: Send>(
    bands: impl Iterator<Item = T> + Send,
    work: impl Fn(usize, T) + Sync,
) {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let left = Mutex::new(bands.enumerate());
    let next = || left.lock().ok().and_then(|mut left| left.next());
    let one_after_another = || {
        while let Some((number, band)) = next() {
            work(number, band);
        }
    };
    std::thread::scope(|scope| {
        for _ in 1..threads {
            scope.spawn(one_after_another);
        }
        one_after_another();
    });
}

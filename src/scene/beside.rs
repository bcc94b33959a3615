//! Work beside the frames: run on another thread, its answer fetched when it has landed.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Arc, Condvar, Mutex};
use std::time::Duration;

use bevy::tasks::AsyncComputeTaskPool;
use bevy::winit::{EventLoopProxyWrapper, WinitUserEvent};

/// How far work beside the frames is, and whether it is still wanted.
#[derive(Debug, Default)]
pub(crate) struct Work {
    per_mille: AtomicU32,
    unwanted: AtomicBool,
}

impl Work {
    /// Notes how much is done, 0 to 1, and says whether to go on.
    pub(crate) fn go_on(&self, share: f64) -> bool {
        self.per_mille.store((share.clamp(0.0, 1.0) * 1000.0) as u32, Ordering::Relaxed);
        !self.unwanted.load(Ordering::Relaxed)
    }

    /// How much is done, 0 to 1.
    pub(crate) fn share(&self) -> f64 {
        f64::from(self.per_mille.load(Ordering::Relaxed)) / 1000.0
    }

    /// It is no longer wanted.
    pub(crate) fn stop(&self) {
        self.unwanted.store(true, Ordering::Relaxed);
    }
}

/// Work that takes longer than this shows how far it is and can be cancelled.
pub(crate) const SHOWN_AFTER: Duration = Duration::from_millis(100);

/// The work broke off without an answer; what the panic said. It is a bug.
#[derive(Debug, Clone)]
pub(crate) struct Broken(pub(crate) String);

/// Where an answer lands.
pub(crate) struct Slot<T>(Arc<Landing<T>>);

struct Landing<T> {
    answer: Mutex<Option<Result<T, Broken>>>,
    landed: Condvar,
}

impl<T> Clone for Slot<T> {
    fn clone(&self) -> Slot<T> {
        Slot(Arc::clone(&self.0))
    }
}

impl<T> Slot<T> {
    /// The answer, once it is there; none again after that.
    pub(crate) fn take(&self) -> Option<Result<T, Broken>> {
        self.0.answer.lock().ok()?.take()
    }

    /// The same, waiting for it as long as `at_most`.
    pub(crate) fn take_within(&self, at_most: Duration) -> Option<Result<T, Broken>> {
        let answer = self.0.answer.lock().ok()?;
        let waited = self.0.landed.wait_timeout_while(answer, at_most, |answer| answer.is_none());
        waited.ok()?.0.take()
    }
}

/// Runs `work` beside the frames; its answer lands in the slot and the window wakes up for it.
pub(crate) fn beside_the_frames<T: Send + 'static>(
    wake: Option<&EventLoopProxyWrapper>,
    work: impl FnOnce() -> T + Send + 'static,
) -> Slot<T> {
    let here = Arc::new(Landing { answer: Mutex::default(), landed: Condvar::new() });
    let there = Arc::clone(&here);
    let wake = wake.map(|proxy| (**proxy).clone());
    AsyncComputeTaskPool::get()
        .spawn(async move {
            // Without an answer the window would wait for ever.
            let found = catch_unwind(AssertUnwindSafe(work)).map_err(|panic| Broken(said(&*panic)));
            if let Ok(mut answer) = there.answer.lock() {
                *answer = Some(found);
            }
            there.landed.notify_all();
            if let Some(wake) = wake {
                // Fails only when the window is gone, and then nobody waits for the answer.
                let _ = wake.send_event(WinitUserEvent::WakeUp);
            }
        })
        .detach();
    Slot(here)
}

/// What a panic said.
fn said(panic: &(dyn Any + Send)) -> String {
    let words = panic.downcast_ref::<&str>().map(ToString::to_string);
    words
        .or_else(|| panic.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "no reason given".to_string())
}

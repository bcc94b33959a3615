//! Nothing is lost: unsaved work goes to a journal beside the file, and a change of the file on disk
//! is noticed.
//!
//! One thread writes the journal, another looks at the file; neither touches the document.

use std::path::PathBuf;
use std::sync::mpsc::{self, Sender};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant, SystemTime};

use bevy::prelude::{App, Local, Res, ResMut, Resource, Update};
use bevy::winit::{EventLoopProxyWrapper, WinitUserEvent};

use super::document::Document;
use super::view::View;
use crate::format::{Journal, LayoutFile};
use crate::model::Layout;

/// The longest that a change waits before it is in the journal. With the time to write it, that is
/// what a crash can cost; the aim is below 2 s.
const WAIT: Duration = Duration::from_millis(700);

/// How often the file on disk is looked at.
const LOOK: Duration = Duration::from_secs(1);

/// Something to be kept, or nothing any more.
enum Work {
    Keep { journal: Journal, file: Box<LayoutFile>, layout: Box<Layout> },
    Clear(Journal),
}

/// Keeps unsaved work, and knows whether the file on disk has another face than before.
#[derive(Resource)]
pub struct Keeper {
    send: Sender<Work>,
    wrong: Arc<Mutex<Option<String>>>,
    sent: u64,
    kept_any: bool,
    look_at: Arc<Mutex<Option<PathBuf>>>,
    touched: Arc<Mutex<bool>>,
    started: bool,
}

impl Default for Keeper {
    fn default() -> Keeper {
        let (send, receive) = mpsc::channel::<Work>();
        let wrong: Arc<Mutex<Option<String>>> = Arc::default();
        let says = Arc::clone(&wrong);
        // Ends with the window: the sender is dropped then.
        thread::spawn(move || {
            while let Ok(mut newest) = receive.recv() {
                let due = Instant::now() + WAIT;
                // Ends when the time is up, or with the window.
                while let Ok(newer) =
                    receive.recv_timeout(due.saturating_duration_since(Instant::now()))
                {
                    newest = newer;
                }
                let went = act(newest);
                if let Ok(mut wrong) = says.lock() {
                    *wrong = went.err();
                }
            }
        });
        Keeper {
            send,
            wrong,
            sent: 0,
            kept_any: false,
            look_at: Arc::default(),
            touched: Arc::default(),
            started: false,
        }
    }
}

fn act(work: Work) -> Result<(), String> {
    match work {
        Work::Keep { journal, file, layout } => {
            let text = file.text_with(&layout).map_err(|error| error.to_string())?;
            journal.keep(&text).map_err(|error| error.to_string())
        }
        Work::Clear(journal) => {
            journal.clear();
            Ok(())
        }
    }
}

/// The folder for the journal of a demo, which lies in no folder.
fn folder() -> PathBuf {
    std::env::temp_dir()
}

/// The journal of a document's file.
pub(crate) fn journal(document: &Document) -> Journal {
    Journal::of(document.file(), &folder())
}

impl Keeper {
    /// Takes the journal away at once: the window closes with nothing left to keep.
    pub(crate) fn close(&mut self, document: &Document) {
        let _ = self.send.send(Work::Clear(journal(document)));
        journal(document).clear();
        self.sent = document.age();
        self.kept_any = false;
    }

    /// Another document is open.
    pub(crate) fn forget(&mut self) {
        self.sent = 0;
        self.kept_any = false;
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<Keeper>().add_systems(Update, (keep, watch));
}

fn keep(document: Res<Document>, mut keeper: ResMut<Keeper>, mut view: ResMut<View>) {
    // What was found from a crash stays until it was decided on.
    if view.recovered.is_some() {
        return;
    }
    if keeper.sent != document.age() {
        keeper.sent = document.age();
        let journal = journal(&document);
        let work = if document.any_unsaved() {
            keeper.kept_any = true;
            let layout = Box::new(document.whole());
            Work::Keep { journal, file: Box::new(document.file().clone()), layout }
        } else {
            Work::Clear(journal)
        };
        // Fails only when the thread is gone, and then the process ends.
        let _ = keeper.send.send(work);
    } else if keeper.kept_any && !document.any_unsaved() {
        keeper.kept_any = false;
        let _ = keeper.send.send(Work::Clear(journal(&document)));
    }
    let wrong = keeper.wrong.lock().ok().and_then(|mut wrong| wrong.take());
    if let Some(why) = wrong {
        view.warn(format!("Unsaved work can't be kept beside the file: {why}"));
    }
}

fn watch(
    document: Res<Document>,
    mut keeper: ResMut<Keeper>,
    mut view: ResMut<View>,
    mut asked: Local<Option<PathBuf>>,
    wake: Option<Res<EventLoopProxyWrapper>>,
) {
    let path = document.file().path().map(PathBuf::from);
    if *asked != path {
        asked.clone_from(&path);
        if let Ok(mut at) = keeper.look_at.lock() {
            *at = path;
        }
    }
    if !keeper.started {
        keeper.started = true;
        let (at, touched) = (Arc::clone(&keeper.look_at), Arc::clone(&keeper.touched));
        let proxy = wake.as_deref().map(|proxy| (**proxy).clone());
        let wake = move || {
            proxy.as_ref().is_none_or(|proxy| proxy.send_event(WinitUserEvent::WakeUp).is_ok())
        };
        thread::spawn(move || look(&at, &touched, wake));
    }
    let touched = keeper.touched.lock().map(|mut touched| std::mem::take(&mut *touched));
    if touched.unwrap_or(false) {
        view.on_disk = document.file().changed_on_disk();
    }
}

/// Looks at the file again and again; says when its time or length is another one. Ends when there is
/// nobody left to wake.
fn look(at: &Mutex<Option<PathBuf>>, touched: &Mutex<bool>, wake: impl Fn() -> bool) {
    let mut last: Option<(PathBuf, Option<(SystemTime, u64)>)> = None;
    loop {
        thread::sleep(LOOK);
        let path = at.lock().ok().and_then(|at| at.clone());
        let Some(path) = path else { continue };
        let face = std::fs::metadata(&path)
            .ok()
            .and_then(|known| Some((known.modified().ok()?, known.len())));
        let now = (path, face);
        let other = last.as_ref().is_some_and(|last| last.0 == now.0 && last.1 != now.1);
        last = Some(now);
        if other {
            if let Ok(mut touched) = touched.lock() {
                *touched = true;
            }
            if !wake() {
                return;
            }
        }
    }
}

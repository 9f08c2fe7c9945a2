//! The clerk: makes guide, map and picture on a thread of its own, so that the
//! light can be moved on meanwhile.

use crate::bench::{Bench, Product, ReadAlready, Trouble};
use crate::ear::{Ear, Progress};
use crate::look::Look;
use grisaille_base::Listener;
use grisaille_scheme::Document;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, channel};

/// One piece of work under way.
pub(crate) struct Clerk {
    what: Product,
    to: PathBuf,
    ear: Arc<Ear>,
    cancel: Arc<AtomicBool>,
    done: Receiver<Result<Vec<String>, Trouble>>,
}

impl Clerk {
    /// Begins to make a product of a document, as it is now, and of the looks on screen.
    ///
    /// # Errors
    /// When the system grants no thread.
    pub(crate) fn begin(
        bench: &Arc<dyn Bench>,
        what: Product,
        (document, looks): (Document, Vec<Look>),
        read: Option<Arc<ReadAlready>>,
        to: PathBuf,
        wake: Arc<dyn Fn() + Send + Sync>,
    ) -> Result<Self, String> {
        let ear = Arc::new(Ear::new(Arc::clone(bench), Arc::clone(&wake)));
        let watch = bench.watch().heard_by(Arc::clone(&ear) as Arc<dyn Listener>);
        let cancel = watch.cancel_handle();
        let (sender, done) = channel();
        let (bench, place) = (Arc::clone(bench), to.clone());
        std::thread::Builder::new()
            .name("bench".into())
            .spawn(move || {
                // Nobody hears if the window has gone; the file is whole or not there.
                let _ = sender.send(bench.make(what, &document, &looks, read.as_deref(), &place, &watch));
                wake();
            })
            .map_err(|e| format!("the work cannot be started: {e}"))?;
        Ok(Self { what, to, ear, cancel, done })
    }

    /// What is being made, and where.
    #[must_use]
    pub(crate) fn work(&self) -> (Product, &PathBuf) {
        (self.what, &self.to)
    }

    /// How far it is.
    #[must_use]
    pub(crate) fn progress(&self) -> Progress {
        self.ear.progress()
    }

    /// Asks it to stop; nothing is left half-written.
    pub(crate) fn stop(&self) {
        self.cancel.store(true, Ordering::Relaxed);
    }

    /// The result, once it is there.
    #[must_use]
    pub(crate) fn result(&self) -> Option<Result<Vec<String>, Trouble>> {
        match self.done.try_recv() {
            Ok(result) => Some(result),
            Err(std::sync::mpsc::TryRecvError::Empty) => None,
            Err(std::sync::mpsc::TryRecvError::Disconnected) => {
                Some(Err(Trouble::Said("the work ended without a result".into())))
            }
        }
    }
}

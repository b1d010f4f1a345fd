//! When the files were last changed, asked of the browser only once the answers stand: for a chosen folder it goes to
//! the disk for each.

use super::app::{self, Handle};
use super::dom;
use super::files::{AT_A_TIME, Source};
use wasm_bindgen_futures::spawn_local;

/// Tells the run's conductor, if it still waits for that when all is asked.
pub fn tell(app: &Handle) {
    let (run, sources) = {
        let state = app.borrow();
        (state.run(), state.sources().to_vec())
    };
    let app = app.clone();
    spawn_local(async move {
        let mut modified_s = Vec::with_capacity(sources.len());
        for source in &sources {
            if modified_s.len() % AT_A_TIME == AT_A_TIME - 1 {
                dom::next_turn().await;
                if app.borrow().run() != run {
                    return;
                }
            }
            modified_s.push(match source {
                Source::File(file) => Some(file.last_modified() / 1e3),
                Source::Demo(_) => None,
            });
        }
        app::give_times(&app, run, modified_s);
    });
}

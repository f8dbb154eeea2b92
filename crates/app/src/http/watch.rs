//! Changes of the folder from outside, told as they are seen.

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::time::{Duration, SystemTime};

use axum::extract::State;
use axum::response::sse::{Event, KeepAlive, Sse};
use serde::{Deserialize, Serialize};
use tokio::sync::{broadcast, mpsc};
use tokio_stream::Stream;
use tokio_stream::wrappers::ReceiverStream;
use utoipa::ToSchema;

use super::App;
use super::folder::{Folder, tag_of};
use super::request::ServerEvent;

/// How often the folder is looked at.
const EVERY: Duration = Duration::from_secs(1);

/// A change of a case file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Change {
    /// Name of the file.
    pub name: String,
    /// What happened.
    pub what: WhatChanged,
    /// BLAKE3 hash of the text as it is now; none where the file is gone or no text.
    pub tag: Option<String>,
}

/// What happened to a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum WhatChanged {
    /// It is new.
    Made,
    /// Its text is another.
    Changed,
    /// It is gone.
    Removed,
}

/// Changes of the folder as they happen
///
/// Server-sent events named `change`, each a change as JSON. The folder is looked at every second; the stream has no end.
#[utoipa::path(get, path = "/api/watch", tag = "folder", responses(
    (status = 200, description = "Events; their data is a `Change`", content_type = "text/event-stream", body = ServerEvent),
))]
pub async fn watch(State(app): State<App>) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let (send, receive) = mpsc::channel(8);
    let mut changes = app.changes.subscribe();
    tokio::spawn(async move {
        loop {
            let event = tokio::select! {
                () = send.closed() => return,
                change = changes.recv() => match change {
                    Ok(change) => Event::default().event("change").json_data(&change).unwrap_or_default(),
                    // Too many changes at once: the page is told to look at the whole folder again.
                    Err(broadcast::error::RecvError::Lagged(_)) => Event::default().event("many").data("{}"),
                    Err(broadcast::error::RecvError::Closed) => return,
                },
            };
            if send.send(Ok(event)).await.is_err() {
                return;
            }
        }
    });
    Sse::new(ReceiverStream::new(receive)).keep_alive(KeepAlive::default())
}

/// Looks at the folder again and again and tells what changed, for as long as the server lives.
pub async fn look(folder: Folder, changes: broadcast::Sender<Change>) {
    let mut seen = Seen::default();
    let mut every = tokio::time::interval(EVERY);
    every.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    let mut first = true;
    loop {
        every.tick().await;
        let folder = folder.clone();
        let Ok((after, found)) = tokio::task::spawn_blocking(move || {
            let found = seen.look(&folder);
            (seen, found)
        })
        .await
        else {
            return;
        };
        seen = after;
        if !first {
            // Nobody listening is no fault.
            found.into_iter().for_each(|change| drop(changes.send(change)));
        }
        first = false;
    }
}

/// The folder as it was last seen.
#[derive(Debug, Default)]
pub struct Seen {
    files: BTreeMap<String, (SystemTime, u64, Option<String>)>,
}

impl Seen {
    /// What changed since the last look. A folder that cannot be read now is looked at again later.
    pub fn look(&mut self, folder: &Folder) -> Vec<Change> {
        let Ok(listing) = folder.list() else { return Vec::new() };
        let mut changes = Vec::new();
        let mut files = BTreeMap::new();
        for file in listing.files {
            let before = self.files.remove(&file.name);
            let same = before.as_ref().filter(|(modified, size, _)| *modified == file.modified && *size == file.size);
            let tag = match same {
                Some((_, _, tag)) => tag.clone(),
                None => folder.read(&file.name).ok().map(|text| tag_of(text.as_bytes())),
            };
            match before {
                None => changes.push(Change { name: file.name.clone(), what: WhatChanged::Made, tag: tag.clone() }),
                Some((_, _, old)) if old != tag => {
                    changes.push(Change { name: file.name.clone(), what: WhatChanged::Changed, tag: tag.clone() });
                }
                Some(_) => {}
            }
            files.insert(file.name, (file.modified, file.size, tag));
        }
        let gone = std::mem::replace(&mut self.files, files).into_keys();
        changes.extend(gone.map(|name| Change { name, what: WhatChanged::Removed, tag: None }));
        changes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_made_changed_and_removed_are_told_once() {
        let place = tempfile::TempDir::new().expect("a folder");
        let folder = Folder::open(place.path()).expect("a folder");
        let write = |name: &str, text: &str| std::fs::write(place.path().join(name), text).expect("a file");
        write("a.toml", "1");
        let mut seen = Seen::default();
        assert_eq!(seen.look(&folder).len(), 1);
        assert_eq!(seen.look(&folder), []);
        write("a.toml", "12");
        write("b.toml", "3");
        write("note.txt", "3");
        let told: Vec<(String, WhatChanged)> = seen.look(&folder).into_iter().map(|change| (change.name, change.what)).collect();
        assert_eq!(told, [("a.toml".to_owned(), WhatChanged::Changed), ("b.toml".to_owned(), WhatChanged::Made)]);
        std::fs::remove_file(place.path().join("a.toml")).expect("gone");
        assert_eq!(seen.look(&folder), [Change { name: "a.toml".to_owned(), what: WhatChanged::Removed, tag: None }]);
        assert_eq!(seen.look(&folder), []);
    }
}

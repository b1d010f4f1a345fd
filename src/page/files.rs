//! From what the user drops or chooses to files with their paths.
//!
//! Two interfaces give the contents of a dropped folder, and from a local page each works in one browser only:
//! handles in Chromium, entries in Firefox. Both are asked while the drop is being handled, as they must be, and
//! the first that answers is used.

use crate::control::{Word, naming};
use crate::run::Offer;
use js_sys::{Array, ArrayBuffer, AsyncIterator, Function, IteratorNext, Promise, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{DataTransfer, File, FileList, FileSystemDirectoryEntry, FileSystemEntry, FileSystemFileEntry};

/// Files that are listed before the page is let breathe.
pub const AT_A_TIME: usize = 64;

/// Where a file's bytes come from.
#[derive(Clone)]
pub enum Source {
    /// A file of the user's.
    File(File),
    /// A word of the made-up part.
    Demo(Word),
}

/// What a worker is handed of one file.
pub enum Contents {
    /// Its bytes.
    Buffer(ArrayBuffer),
    /// The browser could not read it.
    Unreadable,
    /// A word of the made-up part, whose bytes the worker makes itself.
    Demo(Word),
}

/// Reads files, all at once. The page reads rather than the workers, because handing a chosen file to a worker makes
/// a browser ask the disk for its size while everything on the page waits.
pub async fn read(sources: &[Source]) -> Vec<Contents> {
    let begun: Vec<Result<JsFuture, Word>> = sources
        .iter()
        .map(|source| match source {
            Source::File(file) => Ok(JsFuture::from(file.array_buffer())),
            Source::Demo(word) => Err(*word),
        })
        .collect();
    let mut contents = Vec::with_capacity(begun.len());
    for source in begun {
        contents.push(match source {
            Ok(buffer) => match buffer.await.map(JsCast::dyn_into) {
                Ok(Ok(buffer)) => Contents::Buffer(buffer),
                _ => Contents::Unreadable,
            },
            Err(word) => Contents::Demo(word),
        });
    }
    contents
}

/// A file offered, with its path below the dropped folder.
#[derive(Clone)]
pub struct Offered {
    /// Path below the dropped folder, parts joined by `/`.
    pub path: String,
    /// The file.
    pub file: File,
}

/// What was dropped or chosen.
pub struct Dropped {
    /// The folder's name; empty for single files.
    pub name: String,
    /// Its files, those of sub-folders included.
    pub files: Vec<Offered>,
    /// Whether anything was offered at all (an empty folder is something).
    pub folders: usize,
}

/// What stands in a drop, taken while the event is handled; the contents follow.
pub struct Drop {
    handles: Vec<Promise>,
    entries: Vec<FileSystemEntry>,
    files: Vec<File>,
}

impl Drop {
    /// Takes what a drop event carries.
    pub fn take(transfer: &DataTransfer) -> Self {
        let mut drop = Self { handles: Vec::new(), entries: Vec::new(), files: Vec::new() };
        let items = transfer.items();
        for item in
            (0..items.length()).filter_map(|index| items.get(index)).filter(|item| item.kind() == "file")
        {
            if let Some(handle) = call(&item, "getAsFileSystemHandle", &[]).and_then(|p| p.dyn_into().ok()) {
                drop.handles.push(handle);
            } else if let Ok(Some(entry)) = item.webkit_get_as_entry() {
                drop.entries.push(entry);
            } else if let Ok(Some(file)) = item.get_as_file() {
                drop.files.push(file);
            }
        }
        drop
    }

    /// Lists every file in it. `listed` hears how many were found so far.
    pub async fn list(self, listed: impl Fn(usize)) -> Result<Dropped, String> {
        let mut dropped = Dropped { name: String::new(), files: Vec::new(), folders: 0 };
        let single = self.handles.len() + self.entries.len() + self.files.len() == 1;
        for handle in self.handles {
            let handle = JsFuture::from(handle).await.map_err(|error| unreadable(&error))?;
            list_handle(&handle, single, &mut dropped, &listed).await?;
        }
        for entry in self.entries {
            list_entry(&entry, single, &mut dropped, &listed).await?;
        }
        dropped.files.extend(self.files.into_iter().map(|file| Offered { path: file.name(), file }));
        Ok(dropped)
    }
}

/// The files of a folder input.
pub fn chosen(list: &FileList) -> Dropped {
    let mut dropped = Dropped { name: String::new(), files: Vec::new(), folders: 0 };
    for file in (0..list.length()).filter_map(|index| list.get(index)) {
        let relative =
            Reflect::get(&file, &"webkitRelativePath".into()).ok().and_then(|path| path.as_string());
        let relative = relative.unwrap_or_default();
        let path = match relative.split_once('/') {
            Some((folder, rest)) => {
                folder.clone_into(&mut dropped.name);
                dropped.folders = 1;
                rest.to_owned()
            }
            None => file.name(),
        };
        dropped.files.push(Offered { path, file });
    }
    dropped
}

/// What the conductor is told of a file before any is read: with the text of a small one that may be an index of the
/// others. One that cannot be read is listed as no S-parameter file, like any other text.
pub async fn offer(offered: &Offered) -> Offer {
    let path = offered.path.clone();
    let is_s_parameter_file = naming::is_s_parameter_name(&path).is_some();
    if is_s_parameter_file {
        return Offer { path, bytes: None, is_s_parameter_file, contents: None };
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a size is a whole number")]
    let bytes = offered.file.size() as u64;
    let contents = if Offer::may_be_index(&path, bytes) {
        JsFuture::from(offered.file.text()).await.ok().and_then(|text| text.as_string())
    } else {
        None
    };
    Offer { path, bytes: Some(bytes), is_s_parameter_file, contents }
}

/// Lists a file or folder handle. The path leaves out the name of a folder that was dropped alone.
async fn list_handle(
    handle: &JsValue,
    single: bool,
    dropped: &mut Dropped,
    listed: &impl Fn(usize),
) -> Result<(), String> {
    let name = property(handle, "name");
    if property(handle, "kind") != "directory" {
        let file = promised(handle, "getFile").await?;
        dropped.files.push(Offered { path: name, file: file.unchecked_into() });
        return Ok(());
    }
    dropped.folders += 1;
    if single {
        dropped.name.clone_from(&name);
    }
    let mut folders = vec![(handle.clone(), if single { String::new() } else { format!("{name}/") })];
    while let Some((folder, prefix)) = folders.pop() {
        let values = call(&folder, "values", &[]).ok_or("The folder could not be listed.")?;
        let iterator: AsyncIterator = values.unchecked_into();
        let mut waiting: Vec<(String, Promise)> = Vec::new();
        loop {
            let next = iterator.next().map_err(|error| unreadable(&error))?;
            let next: IteratorNext =
                JsFuture::from(next).await.map_err(|error| unreadable(&error))?.unchecked_into();
            if next.done() {
                break;
            }
            let child = next.value();
            let path = format!("{prefix}{}", property(&child, "name"));
            if property(&child, "kind") == "directory" {
                folders.push((child, format!("{path}/")));
            } else if let Some(promise) = call(&child, "getFile", &[]) {
                waiting.push((path, promise.unchecked_into()));
                if waiting.len().is_multiple_of(AT_A_TIME) {
                    listed(dropped.files.len() + waiting.len());
                    super::dom::next_turn().await;
                }
            }
        }
        for (path, promise) in waiting {
            if dropped.files.len().is_multiple_of(AT_A_TIME) {
                super::dom::next_turn().await;
            }
            let file = JsFuture::from(promise).await.map_err(|error| unreadable(&error))?;
            dropped.files.push(Offered { path, file: file.unchecked_into() });
        }
    }
    Ok(())
}

/// Lists a file or folder entry, the older interface.
async fn list_entry(
    entry: &FileSystemEntry,
    single: bool,
    dropped: &mut Dropped,
    listed: &impl Fn(usize),
) -> Result<(), String> {
    if entry.is_directory() {
        dropped.folders += 1;
        if single {
            dropped.name = entry.name();
        }
    }
    let skip = if single && entry.is_directory() { entry.full_path().len() + 1 } else { 1 };
    let mut waiting = vec![entry.clone()];
    while let Some(entry) = waiting.pop() {
        let path = entry.full_path().get(skip..).unwrap_or_default().to_owned();
        if !entry.is_directory() {
            let entry: FileSystemFileEntry = entry.unchecked_into();
            let file =
                settled(|resolve, reject| entry.file_with_callback_and_callback(resolve, reject)).await?;
            dropped.files.push(Offered { path, file: file.unchecked_into() });
            if dropped.files.len().is_multiple_of(AT_A_TIME) {
                listed(dropped.files.len());
                super::dom::next_turn().await;
            }
            continue;
        }
        let reader = entry.unchecked_into::<FileSystemDirectoryEntry>().create_reader();
        loop {
            // A reader hands out a folder in batches and ends with an empty one.
            let batch = settled(|resolve, reject| {
                let _ = reader.read_entries_with_callback_and_callback(resolve, reject);
            });
            let batch: Array = batch.await?.unchecked_into();
            if batch.length() == 0 {
                break;
            }
            waiting.extend(batch.iter().map(JsCast::unchecked_into::<FileSystemEntry>));
        }
    }
    Ok(())
}

/// Waits for one of two callbacks.
async fn settled(start: impl Fn(&Function, &Function)) -> Result<JsValue, String> {
    let promise = Promise::new(&mut |resolve, reject| start(&resolve, &reject));
    JsFuture::from(promise).await.map_err(|error| unreadable(&error))
}

async fn promised(object: &JsValue, method: &str) -> Result<JsValue, String> {
    let promise = call(object, method, &[]).ok_or("The browser cannot open this file.")?;
    JsFuture::from(promise.unchecked_into::<Promise>()).await.map_err(|error| unreadable(&error))
}

fn unreadable(error: &JsValue) -> String {
    let reason = property(error, "message");
    format!("The browser could not read what was dropped ({reason}). Use “Choose a sweep folder” instead.")
}

fn property(object: &JsValue, name: &str) -> String {
    Reflect::get(object, &name.into()).ok().and_then(|value| value.as_string()).unwrap_or_default()
}

/// Calls a method that web-sys does not know in every browser; `None` where there is none.
fn call(object: &JsValue, method: &str, arguments: &[JsValue]) -> Option<JsValue> {
    let function: Function = Reflect::get(object, &method.into()).ok()?.dyn_into().ok()?;
    function.apply(object, &arguments.iter().collect::<Array>()).ok()
}

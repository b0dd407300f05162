//! The journal's files: `STATE/journal/YYYY-MM.jsonl`. Owns appending, the torn last line and the
//! last number written; refuses to make numbers.

use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

use crate::base::disk::{Kind, Root};
use crate::base::record::Record;

const FOLDER: &str = "journal";
/// Bytes read from a file's end to find its last whole line; a line is far shorter.
const TAIL: u64 = 1 << 20;
const MOST: u64 = 1 << 32;

/// The open journal.
pub struct Journal {
    state: Root,
    last: u64,
    /// Torn last lines that could not be cut off yet, with the length to keep.
    torn: Vec<(PathBuf, u64)>,
}

impl Journal {
    /// Opens the journal, cuts torn last lines off and finds the last number written. One that
    /// cannot be written now is no error: lines are kept until it can.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn open(state: &Root) -> io::Result<Self> {
        let (mut last, mut torn) = (0, Vec::new());
        for file in files(state)? {
            let (mut f, stat) = state.open(&file)?;
            let start = stat.stamp.size.saturating_sub(TAIL);
            f.seek(SeekFrom::Start(start))?;
            let mut tail = Vec::new();
            f.read_to_end(&mut tail)?;
            let whole = tail.iter().rposition(|&b| b == b'\n').map_or(0, |i| i + 1);
            if whole < tail.len() {
                let keep = start + whole as u64;
                let cut = state.append(&file).and_then(|mut f| f.cut(keep));
                if cut.is_err() {
                    torn.push((file.clone(), keep));
                }
            }
            let text = String::from_utf8_lossy(&tail[..whole]);
            let seq = text.lines().rev().find_map(Record::parse).map(|r| r.seq);
            // The wall clock may have jumped back over a month's end: the largest number counts.
            last = last.max(seq.unwrap_or(0));
        }
        Ok(Self {
            state: state.clone(),
            last,
            torn,
        })
    }
    /// Number of the last line that is safely in a file; 0 when there is none.
    pub fn last(&self) -> u64 {
        self.last
    }
    /// Appends lines in order and durably; ones already written are passed over.
    ///
    /// # Errors
    /// The operating system's error; a part in months before may be written then.
    pub fn append(&mut self, batch: &[(u64, String)]) -> io::Result<()> {
        self.state.make_folders(Path::new(FOLDER))?;
        while let Some((file, keep)) = self.torn.last() {
            self.state.append(file)?.cut(*keep)?;
            self.torn.pop();
        }
        let mut rest = batch
            .iter()
            .filter(|(seq, _)| *seq > self.last)
            .collect::<Vec<_>>()
            .into_iter()
            .peekable();
        while let Some(file) = rest.peek().map(|(_, l)| file_of(l)) {
            let mut text = String::new();
            let mut upto = self.last;
            while let Some((seq, line)) = rest.next_if(|(_, l)| file_of(l) == file) {
                text.push_str(line);
                text.push('\n');
                upto = *seq;
            }
            self.state.append(&file)?.add(text.as_bytes())?;
            self.last = upto;
        }
        Ok(())
    }
}

/// A line goes into the file of its month.
fn file_of(line: &str) -> PathBuf {
    let month = Record::parse(line)
        .and_then(|r| r.at.get(..7).map(str::to_owned))
        .unwrap_or_else(|| "undated".into());
    Path::new(FOLDER).join(format!("{month}.jsonl"))
}

fn files(state: &Root) -> io::Result<Vec<PathBuf>> {
    if state.stat(Path::new(FOLDER))?.is_none() {
        return Ok(Vec::new());
    }
    let mut names: Vec<PathBuf> = state
        .list(Path::new(FOLDER))?
        .into_iter()
        .filter(|(_, s)| s.kind == Kind::File)
        .map(|(p, _)| p)
        .filter(|p| p.extension().is_some_and(|e| e == "jsonl"))
        .collect();
    names.sort();
    Ok(names)
}

/// All lines that can be read, by number.
///
/// # Errors
/// The operating system's error.
pub fn lines(state: &Root) -> io::Result<Vec<Record>> {
    let mut all = Vec::new();
    for file in files(state)? {
        let bytes = state.read(&file, MOST)?;
        let text = String::from_utf8_lossy(&bytes);
        all.extend(text.lines().filter_map(Record::parse));
    }
    all.sort_by_key(|r| r.seq);
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::disk::Disk;

    fn line(seq: u64, at: &str) -> (u64, String) {
        let mut r = Record::of("ignored");
        r.seq = seq;
        r.at = at.into();
        (seq, r.line())
    }

    #[test]
    fn a_torn_last_line_is_cut_and_written_again_once() {
        let dir = tempfile::tempdir().unwrap();
        let root = Disk::default().root(dir.path()).unwrap();
        let batch = [
            line(1, "2026-02-01T10:00:00Z"),
            line(2, "2026-01-31T10:00:00Z"),
        ];
        let mut j = Journal::open(&root).unwrap();
        j.append(&batch).unwrap();
        let file = dir.path().join("journal/2026-02.jsonl");
        let whole = std::fs::read(&file).unwrap();
        std::fs::write(&file, [&whole[..], b"{\"schema\":1,\"se"].concat()).unwrap();
        let mut j = Journal::open(&root).unwrap();
        assert_eq!(j.last(), 2);
        j.append(&batch).unwrap();
        j.append(&[line(3, "2026-02-01T10:00:01Z")]).unwrap();
        let seqs: Vec<u64> = lines(&root).unwrap().iter().map(|r| r.seq).collect();
        assert_eq!(seqs, [1, 2, 3]);
    }
}

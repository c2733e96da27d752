//! What every word was, as the client was told last, so that only changes have to be sent.

use std::collections::HashMap;
use std::sync::Mutex;

use halfsplit_base::FileId;
use tower_lsp::lsp_types::{SemanticToken, SemanticTokensEdit};

/// The last answer of each file, and its name.
#[derive(Debug, Default)]
pub(crate) struct Painted(Mutex<Kept>);

#[derive(Debug, Default)]
struct Kept {
    count: u64,
    files: HashMap<FileId, (String, Vec<SemanticToken>)>,
}

/// Files whose last answer is kept; the others are sent whole again.
const MOST: usize = 64;

impl Painted {
    /// Keeps an answer; its name.
    pub(crate) fn keep(&self, file: FileId, words: Vec<SemanticToken>) -> String {
        let mut kept = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        kept.count += 1;
        let name = kept.count.to_string();
        if kept.files.len() >= MOST {
            kept.files.clear();
        }
        kept.files.insert(file, (name.clone(), words));
        name
    }

    /// The answer of that name.
    pub(crate) fn known(&self, file: FileId, name: &str) -> Option<Vec<SemanticToken>> {
        let kept = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        kept.files.get(&file).filter(|(known, _)| known == name).map(|(_, words)| words.clone())
    }
}

/// What makes one answer of another: the stretch in which they differ. Places are counted in numbers, five a word.
pub(crate) fn difference(before: &[SemanticToken], after: &[SemanticToken]) -> Vec<SemanticTokensEdit> {
    let head = before.iter().zip(after).take_while(|(one, other)| one == other).count();
    let rest = |words: &[SemanticToken]| words[head..].iter().rev().copied().collect::<Vec<_>>();
    let (old, new) = (rest(before), rest(after));
    let tail = old.iter().zip(&new).take_while(|(one, other)| one == other).count();
    if head == before.len() && head == after.len() {
        return Vec::new();
    }
    vec![SemanticTokensEdit {
        start: 5 * head as u32,
        delete_count: 5 * (before.len() - head - tail) as u32,
        data: Some(after[head..after.len() - tail].to_vec()),
    }]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn word(token_type: u32) -> SemanticToken {
        SemanticToken { delta_line: 0, delta_start: 1, length: 1, token_type, token_modifiers_bitset: 0 }
    }

    fn words(types: &[u32]) -> Vec<SemanticToken> {
        types.iter().map(|one| word(*one)).collect()
    }

    #[test]
    fn a_difference_makes_one_of_the_other() {
        let cases: [(&[u32], &[u32]); 6] = [
            (&[1, 2, 3], &[1, 9, 3]),
            (&[1, 1], &[1, 1, 1]),
            (&[1, 1, 1], &[1]),
            (&[], &[1]),
            (&[1], &[]),
            (&[2], &[2]),
        ];
        for (before, after) in cases {
            let (before, after) = (words(before), words(after));
            let mut made = before.clone();
            for edit in difference(&before, &after) {
                let (start, gone) = (edit.start as usize / 5, edit.delete_count as usize / 5);
                made.splice(start..start + gone, edit.data.unwrap());
            }
            assert_eq!(made, after);
        }
        assert!(difference(&words(&[1]), &words(&[1])).is_empty());
    }

    #[test]
    fn only_the_last_answer_is_known() {
        let painted = Painted::default();
        let first = painted.keep(FileId(1), words(&[1]));
        let second = painted.keep(FileId(1), words(&[2]));
        assert_eq!(painted.known(FileId(1), &first), None);
        assert_eq!(painted.known(FileId(1), &second), Some(words(&[2])));
        assert_eq!(painted.known(FileId(2), &second), None);
    }
}

//! Places that change together while a name is typed over.

use halfsplit_base::Span;

use crate::references::named;
use crate::{Analysis, FilePosition};

/// Every place of the name at an offset, where all of them are in one file and the name may change.
pub(crate) fn linked(analysis: &Analysis, at: FilePosition) -> Option<Vec<Span>> {
    crate::rename::prepare(analysis, at).ok()?;
    let found = named(analysis, at)?;
    if found.places.iter().any(|(file, ..)| *file != at.file) {
        return None;
    }
    let spans: Vec<Span> = found.places.iter().map(|(_, (start, end), _)| Span::new(*start, *end)).collect();
    (spans.len() > 1).then_some(spans)
}

#[cfg(test)]
mod tests {
    use crate::testing::marked;

    #[test]
    fn a_name_is_linked_to_all_its_places() {
        let text = "halfsplit 1\ncircuit \"20 °C 🔧\"\nsplice S$0P1 \"中\"\nwire W1 SP1 to stub GY 0.5 mm2 1 m # SP1\n";
        let (analysis, at) = marked(text);
        let text = text.replace("$0", "");
        let found = analysis.linked(at).unwrap();
        assert_eq!(found.iter().map(|span| &text[span.range()]).collect::<Vec<_>>(), ["SP1", "SP1"]);
        let (analysis, at) = marked("halfsplit 1\ncircuit \"$0x\"\n");
        assert_eq!(analysis.linked(at), None);
    }
}

//! Every name that a file or a person may write, and what it stands for.

use std::collections::HashMap;

use halfsplit_circuit::{BranchId, ConnectorId, PartId, PointId};

use crate::Entity;

/// Names of one circuit. A thing answers to its full name, and to every
/// shorter form that nothing else answers to.
#[derive(Clone, Debug, Default)]
pub struct Names {
    parts: HashMap<String, PartId>,
    connectors: HashMap<String, Vec<ConnectorId>>,
    points: HashMap<String, Vec<PointId>>,
    outputs: HashMap<String, Vec<BranchId>>,
    /// Full names in the order declared, for listing and for "did you mean".
    spelled: Vec<(String, Entity)>,
}

/// Why a written name stands for nothing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NameError {
    /// Nothing answers to it.
    Unknown {
        /// The nearest name of the wanted sort.
        near: Option<String>,
    },
    /// Several things do.
    Ambiguous {
        /// The full names.
        candidates: Vec<String>,
    },
}

impl Names {
    pub(crate) fn add_part(&mut self, name: &str, id: PartId) {
        self.parts.entry(name.into()).or_insert(id);
        self.spelled.push((name.into(), Entity::Part(id)));
    }

    pub(crate) fn add_connector(&mut self, shown: &str, spellings: &[String], id: ConnectorId) {
        add(&mut self.connectors, spellings, id);
        self.spelled.push((shown.into(), Entity::Connector(id)));
    }

    pub(crate) fn add_point(&mut self, shown: &str, spellings: &[String], id: PointId) {
        add(&mut self.points, spellings, id);
        self.spelled.push((shown.into(), Entity::Point(id)));
    }

    pub(crate) fn add_output(&mut self, full: &str, short: &str, id: BranchId) {
        add(&mut self.outputs, &[full.into(), short.into()], id);
        self.spelled.push((full.into(), Entity::Output(id)));
    }

    /// The part of a name.
    pub fn part(&self, written: &str) -> Result<PartId, NameError> {
        self.parts
            .get(written)
            .copied()
            .ok_or_else(|| self.unknown(written, |e| matches!(e, Entity::Part(_))))
    }

    /// The connector of a name: `X34`, `A10.X2`.
    pub fn connector(&self, written: &str) -> Result<ConnectorId, NameError> {
        let is = |e: &Entity| matches!(e, Entity::Connector(_));
        self.one(self.connectors.get(written), Entity::Connector, written, is)
    }

    /// The point of a name: `X34:2`, `A10.X2:14`, `X21.body:6`, `SP10`, `F12:load`.
    pub fn point(&self, written: &str) -> Result<PointId, NameError> {
        let is = |e: &Entity| matches!(e, Entity::Point(_));
        self.one(self.points.get(written), Entity::Point, written, is)
    }

    /// The module output of a name: `A10.REF_A`.
    pub fn output(&self, written: &str) -> Result<BranchId, NameError> {
        let is = |e: &Entity| matches!(e, Entity::Output(_));
        self.one(self.outputs.get(written), Entity::Output, written, is)
    }

    /// As [`Names::point`], for a name that may well be unknown: no near miss is looked for.
    pub fn find_point(&self, written: &str) -> Option<PointId> {
        only(self.points_called(written))
    }

    /// As [`Names::connector`], for a name that may well be unknown.
    pub fn find_connector(&self, written: &str) -> Option<ConnectorId> {
        only(self.connectors_called(written))
    }

    /// As [`Names::part`], for a name that may well be unknown.
    pub fn find_part(&self, written: &str) -> Option<PartId> {
        self.parts.get(written).copied()
    }

    /// Whatever answers to a name; parts before connectors before points before outputs.
    pub fn any(&self, written: &str) -> Result<Entity, NameError> {
        if let Some(&part) = self.parts.get(written) {
            return Ok(Entity::Part(part));
        }
        let known = self.connectors.contains_key(written);
        match (known, self.points.contains_key(written), self.outputs.contains_key(written)) {
            (true, ..) => self.connector(written).map(Entity::Connector),
            (_, true, _) => self.point(written).map(Entity::Point),
            (.., true) => self.output(written).map(Entity::Output),
            _ => Err(self.unknown(written, |_| true)),
        }
    }

    /// As [`Names::any`], for a name that may well be unknown.
    pub fn find_any(&self, written: &str) -> Option<Entity> {
        let output = || only(self.outputs.get(written)?).map(Entity::Output);
        (self.find_part(written).map(Entity::Part))
            .or_else(|| self.find_connector(written).map(Entity::Connector))
            .or_else(|| self.find_point(written).map(Entity::Point))
            .or_else(output)
    }

    /// Every point that answers to a spelling: none, one, or several where it is ambiguous.
    pub fn points_called(&self, written: &str) -> &[PointId] {
        self.points.get(written).map_or(&[], Vec::as_slice)
    }

    /// Every connector that answers to a spelling.
    pub fn connectors_called(&self, written: &str) -> &[ConnectorId] {
        self.connectors.get(written).map_or(&[], Vec::as_slice)
    }

    /// Every name as shown to people, in the order declared.
    pub fn all(&self) -> impl Iterator<Item = (&str, Entity)> {
        self.spelled.iter().map(|(name, entity)| (name.as_str(), *entity))
    }

    fn one<T: Copy + PartialEq>(
        &self,
        found: Option<&Vec<T>>,
        wrap: fn(T) -> Entity,
        written: &str,
        wanted: impl Fn(&Entity) -> bool,
    ) -> Result<T, NameError> {
        match found.map(Vec::as_slice) {
            Some([one]) => Ok(*one),
            Some([_, _, ..]) => {
                let ids: Vec<Entity> = found.into_iter().flatten().map(|&id| wrap(id)).collect();
                let candidates =
                    self.all().filter(|(_, e)| ids.contains(e)).map(|(n, _)| n.to_owned()).collect();
                Err(NameError::Ambiguous { candidates })
            }
            _ => Err(self.unknown(written, wanted)),
        }
    }

    /// The name that is nearest to one that is not known, if one is near.
    pub(crate) fn near<'n>(written: &str, names: impl Iterator<Item = &'n str>) -> Option<String> {
        names
            .filter(|name| name.len().abs_diff(written.len()) <= slips(name))
            .map(|name| (distance(written, name), name))
            .filter(|&(d, name)| d <= slips(name))
            .min()
            .map(|(_, name)| name.to_owned())
    }

    fn unknown(&self, written: &str, wanted: impl Fn(&Entity) -> bool) -> NameError {
        let wanted = self.all().filter(|(_, entity)| wanted(entity)).map(|(name, _)| name);
        let near = Names::near(written, wanted);
        NameError::Unknown { near }
    }
}

/// How many letters of a name may be wrong for it still to be what was meant.
fn slips(name: &str) -> usize {
    1 + name.len() / 6
}

fn only<T: Copy>(found: &[T]) -> Option<T> {
    match found {
        &[one] => Some(one),
        _ => None,
    }
}

fn add<T: Copy + PartialEq>(map: &mut HashMap<String, Vec<T>>, spellings: &[String], id: T) {
    for spelling in spellings {
        let ids = map.entry(spelling.clone()).or_default();
        if !ids.contains(&id) {
            ids.push(id);
        }
    }
}

/// The form in which look-alike names are equal: letter O as digit 0, letters I and l as 1,
/// case folded. A capital L is no look-alike: link `FL1` stands beside fuse `F11`.
pub(crate) fn look(name: &str) -> String {
    name.chars()
        .map(|c| match c {
            'O' | 'o' => '0',
            'I' | 'l' => '1',
            c => c.to_ascii_uppercase(),
        })
        .collect()
}

/// Edits between two names; a slip of case or of a look-alike letter counts as none.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (look(a).chars().collect(), look(b).chars().collect());
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let change = diagonal + usize::from(x != y);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names() -> Names {
        let mut names = Names::default();
        names.add_part("A10", PartId(0));
        names.add_point("A10.X2:14", &["A10.X2:14".into(), "X2:14".into()], PointId(0));
        names.add_point("A20.X2:14", &["A20.X2:14".into(), "X2:14".into()], PointId(1));
        names.add_point("X34:2", &["X34:2".into(), "B4.X34:2".into()], PointId(2));
        names
    }

    #[test]
    fn a_short_form_stands_only_while_it_is_unique() {
        let names = names();
        assert_eq!(names.point("B4.X34:2"), Ok(PointId(2)));
        assert_eq!(names.point("X34:2"), Ok(PointId(2)));
        let candidates = vec!["A10.X2:14".to_owned(), "A20.X2:14".to_owned()];
        assert_eq!(names.point("X2:14"), Err(NameError::Ambiguous { candidates }));
    }

    #[test]
    fn the_nearest_name_is_offered() {
        let near = |written| match names().point(written) {
            Err(NameError::Unknown { near }) => near,
            _ => None,
        };
        assert_eq!(near("X34:3").as_deref(), Some("X34:2"));
        assert_eq!(near("x34:2").as_deref(), Some("X34:2"));
        assert_eq!(near("SP99"), None);
        assert!(matches!(names().any("A1O"), Err(NameError::Unknown { near: Some(n) }) if n == "A10"));
    }
}

//! What the job's log has: no step asks for it again.

use halfsplit_circuit::{Meter, State};

use super::Hunt;
use super::readings::View;
use crate::plan::Sense;

/// A reading that the job's log has, or a look.
#[derive(Clone, Debug)]
pub(crate) struct Taken {
    pub state: State,
    /// `None` for something that was seen or heard.
    pub leads: Option<Meter>,
    pub sense: Sense,
}

impl Taken {
    /// Whether it is this one, with the leads either way round; the supply may have moved since.
    fn is(&self, state: &State, leads: Meter, sense: Sense) -> bool {
        let turned = Meter { red: leads.black, black: leads.red, ..leads };
        let same_leads = self.leads.is_none_or(|own| own == leads || own == turned);
        let own = State { supply_millivolts: state.supply_millivolts, ..self.state.clone() };
        self.sense == sense && same_leads && own == *state
    }
}

impl Hunt<'_, '_> {
    /// Whether the job's log has this reading or look already, in the same state.
    pub(super) fn is_taken(&mut self, view: View) -> bool {
        if self.log.is_empty() {
            return false;
        }
        if let Some(&known) = self.taken.get(&view) {
            return known;
        }
        let (state, leads) = self.stage(view);
        let (sense, held) = self.watched(view);
        let taken = held.is_empty() && self.log.iter().any(|taken| taken.is(&state, leads, sense));
        self.taken.insert(view, taken);
        taken
    }
}

//! What stands behind a fuse, and what a wire carries.

use std::{
    collections::{BTreeMap, BTreeSet, VecDeque},
    sync::LazyLock,
};

use halfsplit_circuit::{
    Amps, Branch, BranchId, BranchKind, PartKind, PointId, PointKind,
    margin::{ALLOWABLE_105, FUSE_OVER_WIRE},
    wire::awg_section,
};

use crate::{short::other, survey::Survey};

/// The one table of what wires carry, in mm² of its AWG sizes: outside engine spaces. See [`ALLOWABLE_105`].
static TABLE: LazyLock<[(f64, Amps); ALLOWABLE_105.len()]> =
    LazyLock::new(|| ALLOWABLE_105.map(|(gauge, amps)| (awg_section(gauge), amps)));

/// Amperes grow with this power of the section from AWG 18 to AWG 4 of the table, and are taken
/// to fall with it below AWG 18, where the table ends. COMPUTED: ln(160/20) / ln(21.15/0.823) = 0.64.
const BELOW_TABLE: f64 = 0.64;

/// A fuse may be rated at this share of the wire's amperage below 50 V.
pub(crate) const FUSE_SHARE: f64 = FUSE_OVER_WIRE;

/// Which table the amperes come from, for every message that prints them.
pub(crate) const SOURCE: &str = "33 CFR 183.425, Table 5, copper with 105 °C insulation at 30 °C";

/// What a wire of a section carries without end, between the table's rows on the straight line of logarithms.
pub(crate) fn carries(section: f64) -> Option<Amps> {
    let (thinnest, least) = TABLE[0];
    if section.is_nan() || section <= 0.0 {
        return None;
    }
    if section < thinnest {
        return Some(least * (section / thinnest).powf(BELOW_TABLE));
    }
    let above = TABLE.iter().position(|&(mm2, _)| mm2 >= section)?;
    let (upper, most) = TABLE[above];
    let Some(&(lower, fewest)) = above.checked_sub(1).and_then(|i| TABLE.get(i)) else { return Some(most) };
    let share = (section / lower).ln() / (upper / lower).ln();
    Some(fewest * (most / fewest).powf(share))
}

/// What stands behind a fuse or link, up to the next one.
pub(crate) struct Behind {
    /// The fuse; of several that feed the same net, the largest.
    pub(crate) fuse: BranchId,
    /// Its rating.
    pub(crate) rating: Amps,
    /// The wires that carry less than the rating, gathered into stretches that leave sound copper
    /// at one place: of each stretch the thinnest wire.
    pub(crate) thin: Vec<Thin>,
    /// Whether some wire behind the fuse carries the rating.
    pub(crate) has_sound_wire: bool,
    /// Whether it is a main link: what feeds a bar or other fuses.
    pub(crate) is_main: bool,
    /// The loads, each with its usual current where it can be told.
    pub(crate) loads: Vec<(BranchId, Amps)>,
}

/// A wire that carries less than the fuse before it is rated for.
#[derive(Clone, Copy)]
pub(crate) struct Thin {
    /// The wire with which its stretch leaves sound copper.
    pub(crate) first: BranchId,
    /// The wire.
    pub(crate) wire: BranchId,
    /// Its section in mm².
    pub(crate) section: f64,
    /// What it carries.
    pub(crate) carries: Amps,
}

/// What stands behind each net that fuses and links feed.
pub(crate) fn behind_fuses(survey: &Survey) -> Vec<Behind> {
    let circuit = survey.circuit();
    let mut suppliers: BTreeSet<usize> = BTreeSet::new();
    let mut bypassed: BTreeSet<PointId> = BTreeSet::new();
    let mut largest: BTreeMap<usize, (Amps, BranchId, PointId)> = BTreeMap::new();
    for (id, branch) in circuit.branches() {
        let point = match branch.kind {
            BranchKind::Fuse { .. } if survey.net_of(branch.a) == survey.net_of(branch.b) => {
                bypassed.insert(branch.b);
                continue;
            }
            BranchKind::Fuse { .. } if survey.reach.reversed.contains(&id) => branch.a,
            BranchKind::Fuse { .. } => branch.b,
            BranchKind::Source { .. } | BranchKind::Generator { .. } | BranchKind::Reference { .. } => {
                branch.a
            }
            _ => continue,
        };
        suppliers.insert(survey.net_of(point));
        if let BranchKind::Fuse { rating, .. } = branch.kind {
            let known = largest.entry(survey.net_of(point)).or_insert((rating, id, point));
            if rating > known.0 {
                *known = (rating, id, point);
            }
        }
    }
    let walk = Walk { survey, suppliers, bypassed };
    largest
        .into_values()
        .filter(|(rating, ..)| !rating.is_nan())
        .map(|(rating, fuse, start)| walk.behind(rating, fuse, start))
        .collect()
}

struct Walk<'w, 'm> {
    survey: &'w Survey<'m>,
    /// Nets that something supplies.
    suppliers: BTreeSet<usize>,
    /// Load sides of fuses around which copper leads; those are reported as that.
    bypassed: BTreeSet<PointId>,
}

impl Walk<'_, '_> {
    /// Walks copper, switches, relay contacts and diodes away from a fuse's load side. Stops at
    /// fuses, at loads, at ground, and where a contact leads to what another supply feeds.
    fn behind(&self, rating: Amps, fuse: BranchId, start: PointId) -> Behind {
        let survey = self.survey;
        let mut found = Behind {
            fuse,
            rating,
            thin: Vec::new(),
            has_sound_wire: false,
            is_main: false,
            loads: Vec::new(),
        };
        if survey.reach.positive[start.index()] || survey.reach.ground[start.index()] {
            return found;
        }
        // Each point with the thin stretch that it was reached over.
        let mut seen = BTreeSet::from([start]);
        let mut counted: BTreeSet<BranchId> = BTreeSet::new();
        let mut queue: VecDeque<(PointId, Option<usize>)> = VecDeque::from([(start, None)]);
        let circuit = survey.circuit();
        let is_link = circuit.part(circuit.branch(fuse).part).kind == PartKind::Link;
        while let Some((here, stretch)) = queue.pop_front() {
            found.is_main |= is_link && circuit.point(here).kind == PointKind::Bar;
            for (id, branch) in survey.branches_at(here) {
                let there = other(branch, here);
                let shut = self.bypassed.contains(&there) || survey.reach.ground[there.index()];
                if shut && branch.kind.is_copper() {
                    continue;
                }
                let mut stretch = stretch;
                let on = match &branch.kind {
                    BranchKind::Wire { section, .. } => {
                        if counted.insert(id) {
                            stretch = self.count(&mut found, id, *section, stretch);
                        }
                        true
                    }
                    BranchKind::Mated { .. } | BranchKind::Joint { .. } => true,
                    BranchKind::Switch { .. } | BranchKind::RelayContact { .. } => {
                        !self.suppliers.contains(&survey.net_of(there))
                    }
                    // The clamp diode of a coil leads nowhere that the coil does not.
                    BranchKind::Diode { .. } => {
                        let of_relay = circuit.part(branch.part).kind == PartKind::Relay;
                        branch.a == here && !of_relay && !self.suppliers.contains(&survey.net_of(there))
                    }
                    BranchKind::Fuse { .. } => {
                        found.is_main |= is_link && id != fuse;
                        false
                    }
                    _ => {
                        if let Some(amps) = draws(survey, id, branch).filter(|_| branch.a == here) {
                            found.loads.push((id, amps));
                        }
                        false
                    }
                };
                if on && !shut && seen.insert(there) {
                    queue.push_back((there, stretch));
                }
            }
        }
        found
    }

    /// Counts a wire: sound, or into the stretch of thin wire that led to it, or into a new one.
    fn count(
        &self,
        found: &mut Behind,
        wire: BranchId,
        section: Option<f64>,
        stretch: Option<usize>,
    ) -> Option<usize> {
        let Some((section, carries)) = section.and_then(|mm2| Some((mm2, carries(mm2)?))) else {
            return stretch;
        };
        if carries >= found.rating {
            found.has_sound_wire = true;
            return stretch;
        }
        let thin = Thin { first: wire, wire, section, carries };
        match stretch.and_then(|index| Some((index, found.thin.get_mut(index)?))) {
            Some((index, known)) => {
                if section < known.section {
                    *known = Thin { first: known.first, ..thin };
                }
                Some(index)
            }
            None => {
                found.thin.push(thin);
                Some(found.thin.len() - 1)
            }
        }
    }
}

/// The usual current of a load: nominal volts over its resistance.
fn draws(survey: &Survey, id: BranchId, branch: &Branch) -> Option<Amps> {
    let system = survey.model.vehicle.system_volts();
    match &branch.kind {
        BranchKind::Load { ohms, .. } => {
            let volts = survey.model.rated.get(&id).copied().unwrap_or(system);
            ohms.filter(|&ohms| ohms > 0.0).map(|ohms| volts / ohms)
        }
        BranchKind::Lamp { hot, rated } => Some(rated / hot),
        BranchKind::Coil { ohms, assumed, .. } => (!assumed).then_some(system / ohms),
        BranchKind::Feed { awake, .. } => awake.map(|ohms| system / ohms),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_met_at_its_rows() {
        for (section, amps) in *TABLE {
            assert!((carries(section).unwrap() - amps).abs() < 1e-9, "{section} mm2");
        }
        assert_eq!(carries(500.0), None);
        assert_eq!(carries(0.0), None);
    }

    #[test]
    fn between_and_below_the_rows_it_grows_with_the_section() {
        let sizes =
            [0.13, 0.22, 0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0];
        let amps: Vec<f64> = sizes.iter().map(|&mm2| carries(mm2).unwrap()).collect();
        assert!(amps.is_sorted(), "{amps:?}");
    }

    /// Fuses that are common practice behind such wires, and one that is not.
    #[test]
    fn common_pairs_of_fuse_and_wire_pass() {
        for (fuse, section) in [(5.0, 0.35), (7.5, 0.5), (10.0, 0.5), (15.0, 0.75), (20.0, 1.5), (30.0, 2.5)]
        {
            assert!(fuse <= carries(section).unwrap(), "{fuse} A on {section} mm2");
        }
        assert!(20.0 > FUSE_SHARE * carries(0.35).unwrap());
    }
}

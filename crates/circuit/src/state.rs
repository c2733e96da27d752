//! The state a question is asked in: key, switches, what is unplugged, what is pulled.

use std::collections::{BTreeMap, BTreeSet};

use crate::{BranchId, ConnectorId, PartId, Volts};

/// Position of the ignition key.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Key {
    /// Off.
    #[default]
    Off,
    /// Accessories only.
    Accessory,
    /// On, terminal 15 live, engine stopped.
    Run,
    /// Starter engaged, terminal 50 live.
    Crank,
}

impl Key {
    /// Every position, in turning order.
    pub const ALL: [Key; 4] = [Key::Off, Key::Accessory, Key::Run, Key::Crank];

    /// The word used in circuit files and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Key::Off => "off",
            Key::Accessory => "accessory",
            Key::Run => "run",
            Key::Crank => "crank",
        }
    }

    /// The position that a word names.
    pub fn from_word(word: &str) -> Option<Key> {
        Key::ALL.into_iter().find(|k| k.word() == word)
    }
}

/// When a contact is closed, a load draws or an output is on. Empty means always.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct When {
    /// Key states in which it holds; empty is all.
    pub keys: BTreeSet<Key>,
    /// Positions of its own part in which it holds; the part's positions are listed in [`Part::positions`](crate::Part::positions). Empty is all.
    pub positions: BTreeSet<String>,
}

impl When {
    /// Always.
    pub fn always() -> When {
        When::default()
    }

    /// In these key positions only.
    pub fn keys(keys: &[Key]) -> When {
        When { keys: keys.iter().copied().collect(), ..When::default() }
    }

    /// In these positions of the part only.
    pub fn positions(positions: &[&str]) -> When {
        When { positions: positions.iter().map(|p| (*p).to_owned()).collect(), ..When::default() }
    }
}

/// The state a question is asked in.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct State {
    /// The key.
    pub key: Key,
    /// Positions of switches; a part that is not listed is in its first position.
    pub positions: BTreeMap<PartId, String>,
    /// Outputs commanded on or off against their own condition.
    pub commands: BTreeMap<BranchId, bool>,
    /// Connectors that are parted.
    pub unplugged: BTreeSet<ConnectorId>,
    /// Fuses and relays that are out of their sockets.
    pub pulled: BTreeSet<PartId>,
    /// Supply as measured at the battery posts, in thousandths of a volt so that states compare and hash; see [`State::supply`].
    pub supply_millivolts: Option<i64>,
    /// Whether the battery is connected.
    pub battery: bool,
}

impl Default for State {
    fn default() -> Self {
        State {
            key: Key::Off,
            positions: BTreeMap::new(),
            commands: BTreeMap::new(),
            unplugged: BTreeSet::new(),
            pulled: BTreeSet::new(),
            supply_millivolts: None,
            battery: true,
        }
    }
}

impl State {
    /// The state with this key position, everything mated, battery connected.
    pub fn with_key(key: Key) -> State {
        State { key, ..State::default() }
    }

    /// This state with one more connector parted.
    pub fn unplug(mut self, connector: ConnectorId) -> State {
        self.unplugged.insert(connector);
        self
    }

    /// This state with one more fuse or relay out of its socket.
    pub fn pull(mut self, part: PartId) -> State {
        self.pulled.insert(part);
        self
    }

    /// Supply as measured at the battery posts in this very state: the sound circuit's posts read just that,
    /// whatever draws on them, and a fault is solved with the same battery behind them.
    pub fn supply(&self) -> Option<Volts> {
        self.supply_millivolts.map(|mv| mv as f64 / 1000.0)
    }

    /// Sets the measured supply.
    pub fn set_supply(&mut self, volts: Volts) {
        self.supply_millivolts = Some((volts * 1000.0).round() as i64);
    }
}

//! The registry: every rule, one line each.

use halfsplit_base::Severity;

use crate::Rule;

/// A rule that looks at a circuit: its id, how much it weighs, what it holds for, and what looks. Its page stands beside
/// it.
macro_rules! rule {
    ($id:literal, $severity:ident, $scope:ident, $check:expr) => {
        $crate::Rule {
            id: $id,
            severity: halfsplit_base::Severity::$severity,
            scope: $crate::rule::Scope::$scope,
            page: include_str!(concat!($id, ".md")),
            check: Some($check),
        }
    };
}

/// A rule of which only the page is here: the parser finds what it speaks of, or it is about `allow` lines.
macro_rules! page {
    ($id:literal, $severity:ident) => {
        Rule {
            id: $id,
            severity: Severity::$severity,
            scope: $crate::rule::Scope::File,
            page: include_str!(concat!($id, ".md")),
            check: None,
        }
    };
}

mod ambiguous_name;
mod battery_first;
mod blank_but_wired;
mod body_without_battery;
mod bus_crossed;
mod bus_pin_off_wire;
mod cable_in_cavity;
mod cavity_twice;
mod clamp_diode_reversed;
mod coil_resistance;
mod coil_reversed;
mod colour_change;
mod colour_contradiction;
mod colour_without_wire;
mod dangling_wire;
mod driver_side;
mod duplicate_name;
mod equal_reach;
mod floating_net;
mod fuse_bypassed;
mod fuse_feeds_nothing;
mod fuse_overloaded;
mod fuse_reversed;
mod fuse_too_large;
mod fuse_without_feed;
mod ground_pin_fed;
mod half_missing;
mod half_without_mate;
mod idle_pin;
mod implausible_value;
mod impossible_date;
mod impossible_value;
mod inner_resistance;
mod key_without_feed;
mod lamp_on_reference;
mod line_twice;
mod load_above_fuse;
mod load_bridged;
mod load_without_feed;
mod load_without_return;
mod lost_volts;
mod meter_place;
mod missing_caution;
mod missing_length;
mod missing_reach;
mod missing_section;
mod missing_view;
mod module_without_feed;
mod no_steady_reading;
mod no_such_cavity;
mod no_supply;
mod no_title;
mod odd_section;
mod ohms_on_live_circuit;
mod parameter_name;
mod pin_on_blank_cavity;
mod pins_swapped;
mod reference_incomplete;
mod reference_low;
mod relay_terminals;
mod relay_volts;
mod repair_beyond_end;
mod sensor_ground_on_body;
mod sensor_ground_tied;
mod serial_gap;
mod serial_overlap;
mod signal_on_reference;
mod slot_twice;
mod supplies_joined;
mod supply_to_ground;
mod system_volts;
mod terminator_value;
mod too_many_cavities;
mod twisted_apart;
mod two_wires_in_a_cavity;
mod unclear_case;
mod unfused_feed;
mod unknown_name;
mod unknown_parameter;
mod unknown_position;
mod unmet_expectation;
mod unreadable_expectation;
mod unused_option;
mod unused_use;
mod use_cycle;
mod use_not_found;
mod use_of_circuit;
mod use_outside;
mod wakes_above_supply;
mod wire_thin_for_fuse;
mod wire_to_itself;
mod wrong_argument;
mod wrong_kind;
mod wrong_volts;

pub(crate) use load_without_feed::wire_side;

/// The rules that speak of what came of `expect` blocks.
pub(crate) const EXPECTATIONS: [Rule; 2] = [unmet_expectation::RULE, unreadable_expectation::RULE];

/// Every rule, in the order of the registry.
pub fn rules() -> &'static [Rule] {
    RULES
}

const RULES: &[Rule] = &[
    unknown_name::RULE,
    ambiguous_name::RULE,
    duplicate_name::RULE,
    no_title::RULE,
    use_not_found::RULE,
    use_outside::RULE,
    use_cycle::RULE,
    use_of_circuit::RULE,
    unused_use::RULE,
    wrong_kind::RULE,
    unknown_parameter::RULE,
    parameter_name::RULE,
    wrong_argument::RULE,
    no_such_cavity::RULE,
    too_many_cavities::RULE,
    cavity_twice::RULE,
    half_missing::RULE,
    unknown_position::RULE,
    serial_overlap::RULE,
    serial_gap::RULE,
    floating_net::RULE,
    dangling_wire::RULE,
    wire_to_itself::RULE,
    two_wires_in_a_cavity::RULE,
    blank_but_wired::RULE,
    half_without_mate::RULE,
    idle_pin::RULE,
    colour_contradiction::RULE,
    colour_change::RULE,
    no_supply::RULE,
    body_without_battery::RULE,
    load_without_feed::RULE,
    load_without_return::RULE,
    pins_swapped::RULE,
    ground_pin_fed::RULE,
    load_bridged::RULE,
    key_without_feed::RULE,
    module_without_feed::RULE,
    supply_to_ground::RULE,
    supplies_joined::RULE,
    sensor_ground_tied::RULE,
    unfused_feed::RULE,
    fuse_too_large::RULE,
    wire_thin_for_fuse::RULE,
    load_above_fuse::RULE,
    fuse_without_feed::RULE,
    fuse_bypassed::RULE,
    fuse_reversed::RULE,
    relay_terminals::RULE,
    clamp_diode_reversed::RULE,
    missing_section::RULE,
    missing_length::RULE,
    odd_section::RULE,
    implausible_value::RULE,
    wrong_volts::RULE,
    reference_incomplete::RULE,
    meter_place::RULE,
    missing_reach::RULE,
    equal_reach::RULE,
    missing_view::RULE,
    missing_caution::RULE,
    impossible_value::RULE,
    system_volts::RULE,
    no_steady_reading::RULE,
    reference_low::RULE,
    lost_volts::RULE,
    fuse_overloaded::RULE,
    signal_on_reference::RULE,
    sensor_ground_on_body::RULE,
    coil_reversed::RULE,
    relay_volts::RULE,
    coil_resistance::RULE,
    line_twice::RULE,
    inner_resistance::RULE,
    driver_side::RULE,
    pin_on_blank_cavity::RULE,
    twisted_apart::RULE,
    bus_crossed::RULE,
    bus_pin_off_wire::RULE,
    terminator_value::RULE,
    repair_beyond_end::RULE,
    colour_without_wire::RULE,
    fuse_feeds_nothing::RULE,
    unused_option::RULE,
    slot_twice::RULE,
    impossible_date::RULE,
    cable_in_cavity::RULE,
    wakes_above_supply::RULE,
    unmet_expectation::RULE,
    unreadable_expectation::RULE,
    unclear_case::RULE,
    lamp_on_reference::RULE,
    ohms_on_live_circuit::RULE,
    battery_first::RULE,
    page!("unknown-rule", Error),
    page!("allow-without-reason", Error),
    page!("unused-allow", Warning),
    page!("missing-header", Error),
    page!("wrong-version", Error),
    page!("missing-unit", Error),
    page!("wrong-unit", Error),
    page!("unknown-unit", Error),
    page!("decimal-comma", Error),
    page!("letter-for-digit", Error),
    page!("range-spelling", Error),
    page!("smart-quote", Error),
    page!("unclosed-text", Error),
    page!("unquoted-text", Error),
    page!("unknown-character", Error),
    page!("unknown-colour", Error),
    page!("unknown-word", Error),
    page!("missing-to", Error),
    page!("missing-arrow", Error),
    page!("missing-value", Error),
    page!("unexpected-text", Error),
    page!("wrong-order", Error),
    page!("wrong-place", Error),
    page!("unclosed-brace", Error),
    page!("stray-brace", Error),
    page!("brace-below", Error),
    page!("missing-brace", Error),
    page!("too-deep", Error),
    page!("too-many-errors", Error),
    page!("too-large", Error),
];

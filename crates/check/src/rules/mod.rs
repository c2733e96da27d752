//! The registry: every rule, one line each.

use crate::Rule;

/// A rule that looks at a circuit; its page stands beside it.
macro_rules! rule {
    ($id:literal, $severity:ident, $check:expr) => {
        $crate::Rule {
            id: $id,
            severity: halfsplit_base::Severity::$severity,
            page: include_str!(concat!($id, ".md")),
            check: Some($check),
        }
    };
}

/// Declares the modules of the rules that look at a circuit and lists all rules.
macro_rules! registry {
    (
        circuit { $($module:ident)* }
        allow { $($allow:literal $severity:ident)* }
        parser { $($id:literal)* }
    ) => {
        $(mod $module;)*

        const RULES: &[Rule] = &[
            $($module::RULE,)*
            $(Rule {
                id: $allow,
                severity: halfsplit_base::Severity::$severity,
                page: include_str!(concat!($allow, ".md")),
                check: None,
            },)*
            $(Rule {
                id: $id,
                severity: halfsplit_base::Severity::Error,
                page: include_str!(concat!($id, ".md")),
                check: None,
            },)*
        ];
    };
}

registry! {
    circuit {
        unknown_name
        ambiguous_name
        duplicate_name
        no_title
        use_not_found
        use_outside
        use_cycle
        use_of_circuit
        unused_use
        wrong_kind
        unknown_parameter
        parameter_name
        wrong_argument
        no_such_cavity
        too_many_cavities
        cavity_twice
        half_missing
        unknown_position
        serial_overlap
        serial_gap

        floating_net
        dangling_wire
        wire_to_itself
        two_wires_in_a_cavity
        blank_but_wired
        half_without_mate
        idle_pin

        colour_contradiction
        colour_change

        no_supply
        body_without_battery
        load_without_feed
        load_without_return
        pins_swapped
        ground_pin_fed
        load_bridged
        key_without_feed
        module_without_feed
        supply_to_ground
        supplies_joined
        sensor_ground_tied

        unfused_feed
        fuse_too_large
        wire_thin_for_fuse
        load_above_fuse
        fuse_without_feed
        fuse_bypassed
        fuse_reversed
        relay_terminals
        clamp_diode_reversed

        missing_section
        missing_length
        odd_section
        implausible_value
        wrong_volts
        reference_incomplete

        meter_place
        missing_reach
        equal_reach
        missing_view
        missing_caution

        unmet_expectation
        unreadable_expectation

        unclear_case
        lamp_on_reference
        ohms_on_live_circuit
        battery_first
    }
    allow {
        "unknown-rule" Error
        "allow-without-reason" Error
        "unused-allow" Warning
    }
    parser {
        "missing-header"
        "wrong-version"
        "missing-unit"
        "wrong-unit"
        "unknown-unit"
        "decimal-comma"
        "letter-for-digit"
        "range-spelling"
        "smart-quote"
        "unclosed-text"
        "unquoted-text"
        "unknown-character"
        "unknown-colour"
        "unknown-word"
        "missing-to"
        "missing-arrow"
        "missing-value"
        "unexpected-text"
        "wrong-order"
        "wrong-place"
        "unclosed-brace"
        "stray-brace"
        "brace-below"
        "missing-brace"
        "too-deep"
        "too-many-errors"
        "too-large"
    }
}

pub(crate) use load_without_feed::wire_side;

/// The rules that speak of what came of `expect` blocks.
pub(crate) const EXPECTATIONS: [Rule; 2] = [unmet_expectation::RULE, unreadable_expectation::RULE];

/// Every rule, in the order of the registry.
pub fn rules() -> &'static [Rule] {
    RULES
}

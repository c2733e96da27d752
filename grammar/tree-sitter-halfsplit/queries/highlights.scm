; Written by a program out of the table of statements; a test compares the two.

(comment) @comment
(text) @string
(colour) @constant
(integer) @number
(number) @number
(unit) @type
(unknown) @constant.builtin
(name) @variable
(pin) @variable
(terminal) @variable
(arrow) @operator
".." @operator
["{" "}"] @punctuation.bracket

[
  "access"
  "after-short"
  "allow"
  "bar"
  "caution"
  "cavity"
  "circuit"
  "coil"
  "connector"
  "contact"
  "diode"
  "draws"
  "driver"
  "drop-out"
  "feed"
  "filament"
  "fuse"
  "ground-point"
  "halfsplit"
  "heater"
  "inline"
  "inner"
  "joint"
  "lamp"
  "limit"
  "link"
  "load"
  "module"
  "motor"
  "note"
  "option"
  "parting"
  "place"
  "position"
  "pull-in"
  "reach"
  "reference"
  "relay"
  "repart"
  "resistance"
  "rest-contact"
  "return"
  "rows"
  "saturation"
  "sensor"
  "signal"
  "sinks"
  "splice"
  "standby"
  "supply"
  "suspicion"
  "switch"
  "system"
  "terminals"
  "unpowered"
  "use"
  "vehicle"
  "view"
  "volts"
  "wakes"
  "wire"
  "years"
] @keyword

[
  "at"
  "because"
  "cavities"
  "halves"
  "in"
  "key"
  "on"
  "to"
  "type"
] @keyword.operator

[
  "accessory"
  "airbag"
  "battery"
  "bench"
  "blank"
  "crank"
  "double-crimp"
  "elsewhere"
  "fan"
  "fuel"
  "generator"
  "high-side"
  "high-voltage"
  "hot"
  "latches"
  "low-side"
  "mating-face"
  "moving"
  "no"
  "off"
  "recovers"
  "run"
  "spare"
  "std"
  "wire-side"
  "yes"
] @constant.builtin

//! What is said about each slip, word for word.

use crate::testing::findings;

/// Findings of one line outside all blocks.
fn line(line: &str) -> String {
    findings(&format!("halfsplit 1\n{line}\n")).replacen(" 2 | ", "", 1)
}

/// Findings of one line in a block.
fn inside(head: &str, line: &str) -> String {
    let text = format!("halfsplit 1\n{head} {{\n{line}\n}}\n");
    findings(&text).replacen(" 3 | ", "", 1)
}

#[test]
fn units() {
    insta::assert_snapshot!([
        line("wire W7 SP10 to X34:2 GY/RD 0.5 mm2 0.4"),
        line("wire W7 SP10 to X34:2 GY/RD 0.5 0.4 m"),
        line("wire W7 SP10 to X34:2 GY/RD 0.5 mm 0.4 m"),
        line("wire W7 SP10 to X34:2 GY/RD 0.5 sqmm 0.4 metres"),
        line("wire W7 SP10 to X34:2 GY/RD 0.5 mm2 0.4 ohm"),
        line("fuse F12 10 type C"),
        line("fuse F12 10 Amps type C"),
        inside("sensor B4", "reach 5"),
        inside("sensor B4", "reach 5 ohm"),
        inside("sensor B4", "reach 5 bananas"),
        inside("sensor B4", "reach 5m"),
        line("wire W7 SP10 to X34:2 GY/RD AWG 14 2 m"),
        inside("sensor B4", "suspicion 3 V"),
        inside("sensor B4", "draws 8 ma at 5 V X34:2 -> X34:1"),
        inside("sensor B4", "draws 8 at 5 V X34:2 -> X34:1"),
    ].join("\n"), @r#"
    wire W7 SP10 to X34:2 GY/RD 0.5 mm2 0.4
       missing-unit: `0.4` has no unit; a wire's length is written in metres: `0.4 m`
          a number alone could mean anything; where the value is not known, write `unknown`
          fix: write 0.4 m

    wire W7 SP10 to X34:2 GY/RD 0.5 0.4 m
       missing-unit: `0.5` has no unit; a wire's section is written in square millimetres, AWG or SAE: `0.5 mm2`
          a number alone could mean anything; where the value is not known, write `unknown`
          fix: write 0.5 mm2

    wire W7 SP10 to X34:2 GY/RD 0.5 mm 0.4 m
       wrong-unit: `0.5 mm` is a length, but a wire's section is a cross-section, written in mm2, AWG, SAE
          write the value in one of these units, or `unknown`
          fix: write 0.5 mm2

    wire W7 SP10 to X34:2 GY/RD 0.5 sqmm 0.4 metres
       unknown-unit: `sqmm` is not how the unit is written; it is `mm2`
          a wire's section is written in mm2, AWG, SAE
          fix: write 0.5 mm2
       unknown-unit: `metres` is not how the unit is written; it is `m`
          a wire's length is written in m, cm, mm
          fix: write 0.4 m

    wire W7 SP10 to X34:2 GY/RD 0.5 mm2 0.4 ohm
       wrong-unit: `0.4 ohm` is a resistance, but a wire's length is a length, written in m, cm, mm
          write the value in one of these units, or `unknown`

    fuse F12 10 type C
       missing-unit: `10` has no unit; a fuse's rating is written in amps: `10 A`
          a number alone could mean anything; where the value is not known, write `unknown`
          fix: write 10 A

    fuse F12 10 Amps type C
       unknown-unit: `Amps` is not how the unit is written; it is `A`
          a fuse's rating is written in A, mA, uA
          fix: write 10 A

    reach 5
       missing-unit: `5` has no unit; `reach` is written in minutes: `5 min`
          a number alone could mean anything; where the value is not known, write `unknown`
          fix: write 5 min

    reach 5 ohm
       wrong-unit: `5 ohm` is a resistance, but `reach` is a time, written in min, s, h
          write the value in one of these units, or `unknown`

    reach 5 bananas
       unknown-unit: `bananas` is no unit that is known here
          `reach` is written in min, s, h

    reach 5m
       wrong-unit: `5m` is a length, but `reach` is a time, written in min, s, h
          write the value in one of these units, or `unknown`
          fix: write 5 min

    wire W7 SP10 to X34:2 GY/RD AWG 14 2 m
       wrong-order: `AWG 14` has its unit in front
          the unit follows the number: `14 AWG`
          fix: write 14 AWG

    suspicion 3 V
       wrong-unit: `suspicion` takes a number without a unit, and this one has `V`
          fix: leave the unit out

    draws 8 ma at 5 V X34:2 -> X34:1
       unknown-unit: `ma` is not how the unit is written; it is `mA`
          the current of `draws` is written in A, mA, uA
          fix: write 8 mA

    draws 8 at 5 V X34:2 -> X34:1
       missing-unit: `8` has no unit; the current of `draws` is written in amps: `8 mA`
          a number alone could mean anything; where the value is not known, write `unknown`
          fix: write 8 mA
    "#);
}

#[test]
fn arrows_and_ends() {
    insta::assert_snapshot!([
        line("wire W7 SP10 -> X34:2 GY/RD 0.5 mm2 0.4 m"),
        line("wire W7 SP10 X34:2 GY/RD 0.5 mm2 0.4 m"),
        line("wire W7 SP10 - X34:2 GY/RD 0.5 mm2 0.4 m"),
        line("wire W7 SP10"),
        line("wire W7 SP10 to"),
        line("wire SP10 to X34:2"),
        line("wire W7 X34: 2 to SP10 GY/RD"),
        line("wire W7: X34:2 to SP10 GY/RD"),
        inside("sensor B4", "draws 8 mA X34:2 : X34:1"),
        inside("sensor B4", "draws 8 mA X34:2 to X34:1"),
        inside("sensor B4", "draws 8 mA X34:2 X34:1"),
        inside("sensor B4", "draws 8 mA X34:2 => X34:1"),
        inside("relay K3", "coil 86 85 80 ohm"),
    ].join("\n"), @r#"
    wire W7 SP10 -> X34:2 GY/RD 0.5 mm2 0.4 m
       missing-to: `->` stands between the two ends of `wire W7`
          the ends of a wire are joined by the word `to`; a wire has no direction
          fix: write to

    wire W7 SP10 X34:2 GY/RD 0.5 mm2 0.4 m
       missing-to: `wire W7` lacks the `to` between its two ends
          written like this: `wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m`
          fix: put to in

    wire W7 SP10 - X34:2 GY/RD 0.5 mm2 0.4 m
       unknown-character: `-` alone joins nothing
          ends of a wire are joined by `to`, direction is written `->`, a range `15..19`

    wire W7 SP10
       missing-to: `wire W7` lacks the `to` between its two ends
          written like this: `wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m`

    wire W7 SP10 to
       missing-value: `wire W7` ends before a pin like `X34:2`
          written like this: `wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m`

    wire SP10 to X34:2
       missing-value: before `to`, `wire SP10` lacks a pin like `X34:2`
          written like this: `wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m`

    wire W7 X34: 2 to SP10 GY/RD
       missing-value: `X34:` names no cavity
          write the cavity behind the colon, without a space: `X34:1`
          fix: write X34:2

    wire W7: X34:2 to SP10 GY/RD
       unexpected-text: `:` means nothing in `wire W7`
          written like this: `wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m`; remarks go behind `#` or into `note`

    draws 8 mA X34:2 : X34:1
       missing-arrow: `:` stands where the direction belongs
          direction, from where to where the current flows, is written `->`
          fix: write ->

    draws 8 mA X34:2 to X34:1
       missing-arrow: `to` stands where the direction belongs
          direction, from where to where the current flows, is written `->`
          fix: write ->

    draws 8 mA X34:2 X34:1
       missing-arrow: `draws` lacks the `->` between its two pins
          `->` says from where to where the current flows; written like this: `draws 8 mA at 5 V X34:2 -> X34:1`
          fix: put -> in

    draws 8 mA X34:2 => X34:1
       missing-arrow: `=>` is not how direction is written
          it is written with a hyphen and a greater-than sign: `->`
          fix: write ->

    coil 86 85 80 ohm
       missing-arrow: `coil` lacks the `->` between its two pins
          `->` says from where to where the current flows; written like this: `coil 86 -> 85 80 ohm`
          fix: put -> in
    "#);
}

#[test]
fn colours() {
    insta::assert_snapshot!([
        line("wire W7 SP10 to X34:2 GR 0.5 mm2 0.4 m"),
        line("wire W7 SP10 to X34:2 RD-GY 0.5 mm2 0.4 m"),
        line("wire W7 SP10 to X34:2 gy/rd 0.5 mm2 0.4 m"),
        line("wire W7 SP10 to X34:2 red 0.5 mm2 0.4 m"),
        line("wire W7 SP10 to X34:2 GY/RD/BK 0.5 mm2 0.4 m"),
        line("wire W7 SP10 to X34:2 XX 0.5 mm2 0.4 m"),
        line("wire W7 SP10 to X34:2 GY RD 0.5 mm2 0.4 m"),
        line("wire W7 SP10 to X34:2 GY / RD 0.5 mm2 0.4 m"),
        line("wire W7 SP10 to X34:2 0.5 mm2 GY/RD 0.4 m"),
        inside("inline X21 10 cavities halves body engine", "6 GY/RD to GR/YE"),
    ].join("\n"), @r#"
    wire W7 SP10 to X34:2 GR 0.5 mm2 0.4 m
       unknown-colour: `GR` is no colour code; grey is GY, green is GN
          BK BN RD OG YE GN BU VT GY WH PK TQ GD SR or GNYE, base/tracer: `GY/RD`; or `unknown`

    wire W7 SP10 to X34:2 RD-GY 0.5 mm2 0.4 m
       unknown-colour: `RD-GY`: base and tracer are parted by a slash
          colours are written base/tracer in the letters of IEC 60757: likely `RD/GY`
          fix: write RD/GY

    wire W7 SP10 to X34:2 gy/rd 0.5 mm2 0.4 m
       unknown-colour: `gy/rd`: colours are written in capitals
          colours are written base/tracer in the letters of IEC 60757: likely `GY/RD`
          fix: write GY/RD

    wire W7 SP10 to X34:2 red 0.5 mm2 0.4 m
       unknown-colour: `red` is no colour code; red is RD
          colours are written base/tracer in the letters of IEC 60757: likely `RD`
          fix: write RD

    wire W7 SP10 to X34:2 GY/RD/BK 0.5 mm2 0.4 m
       unknown-colour: `GY/RD/BK` has more than a base and one tracer
          BK BN RD OG YE GN BU VT GY WH PK TQ GD SR or GNYE, base/tracer: `GY/RD`; or `unknown`

    wire W7 SP10 to X34:2 XX 0.5 mm2 0.4 m
       unknown-colour: `XX` is no colour code
          BK BN RD OG YE GN BU VT GY WH PK TQ GD SR or GNYE, base/tracer: `GY/RD`; or `unknown`

    wire W7 SP10 to X34:2 GY RD 0.5 mm2 0.4 m
       unknown-colour: `GY RD`: base and tracer are parted by a slash
          two colours of one wire are written without a space: `GY/RD`
          fix: write GY/RD

    wire W7 SP10 to X34:2 GY / RD 0.5 mm2 0.4 m
       unknown-character: this `/` belongs to no colour
          base and tracer are written without spaces: `GY/RD`

    wire W7 SP10 to X34:2 0.5 mm2 GY/RD 0.4 m
       wrong-order: `GY/RD`: its colour comes earlier in the line
          written like this: `wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m`

    6 GY/RD to GR/YE
       unknown-colour: `GR` is no colour code; grey is GY, green is GN
          BK BN RD OG YE GN BU VT GY WH PK TQ GD SR or GNYE, base/tracer: `GY/RD`; or `unknown`
    "#);
}

#[test]
fn numbers() {
    insta::assert_snapshot!([
        line("wire W7 SP10 to X34:2 GY/RD 0,5 mm² 0.4 m"),
        line("wire W7 SP10 to X34:1O GY/RD O.5 mm2 0.4 m"),
        line("fuse F12 1O A"),
        line("fuse F12 l0 A"),
        line("fuse F12 1OA"),
        inside("sensor B4", "suspicion O.5"),
        inside("inline X21 10 cavities halves body engine", "1-5 elsewhere"),
        inside("inline X21 10 cavities halves body engine", "5..1 elsewhere"),
        inside("inline X21 10 cavities halves body engine", "1… elsewhere"),
        inside("inline X21 10 cavities halves body engine", "1.5 GY"),
    ].join("\n"), @r#"
    wire W7 SP10 to X34:2 GY/RD 0,5 mm² 0.4 m
       decimal-comma: `0,5` is written with a comma
          numbers have a decimal point: `0.5`
          fix: write 0.5

    wire W7 SP10 to X34:1O GY/RD O.5 mm2 0.4 m
       letter-for-digit: cavity `1O` mixes digits with letters that look like digits
          the letters O, l and I look like the digits 0 and 1; likely `X34:10` is meant
          fix: write X34:10
       letter-for-digit: `O.5` holds a letter where a number belongs
          the letters O, l and I look like the digits 0 and 1; likely `0.5` is meant
          fix: write 0.5

    fuse F12 1O A
       letter-for-digit: `1O` holds a letter where a number belongs
          the letters O, l and I look like the digits 0 and 1; likely `10` is meant
          fix: write 10

    fuse F12 l0 A
       letter-for-digit: `l0` holds a letter where a number belongs
          the letters O, l and I look like the digits 0 and 1; likely `10` is meant
          fix: write 10

    fuse F12 1OA
       letter-for-digit: `1O` holds a letter where a number belongs
          the letters O, l and I look like the digits 0 and 1; likely `10` is meant
          fix: write 10

    suspicion O.5
       letter-for-digit: `O.5` holds a letter where a number belongs
          the letters O, l and I look like the digits 0 and 1; likely `0.5` is meant
          fix: write 0.5

    1-5 elsewhere
       range-spelling: `1-5` is not how a range is written
          from and to are joined by two dots: `1..5`
          fix: write 1..5

    5..1 elsewhere
       range-spelling: the range runs backwards, from 5 to 1
          write the lower number first
          fix: write 1..5

    1… elsewhere
       range-spelling: `…` is not how a range is written
          from and to are joined by two dots: `15..19`
          fix: write ..

    1.5 GY
       unexpected-text: `1.5` is not a whole number
          a count or a cavity number is a whole number: `14`
    "#);
}

#[test]
fn words() {
    insta::assert_snapshot!([
        line("wier W7 SP10 to X34:2 GY/RD"),
        line("Wire W7 SP10 to X34:2 GY/RD"),
        line("fuse F12 10 A typ C"),
        line("supply G1 batery"),
        line("W7 SP10 to X34:2 GY/RD"),
        line("14 GY/RD"),
        line("coil 86 -> 85 80 ohm"),
        inside("sensor B4", "wire W7 SP10 to X34:2 GY/RD 0.5 mm2 0.4 m"),
        inside("sensor B4", "coil 86 -> 85 80 ohm"),
        inside("wire W7 SP10 to X34:2 GY/RD", "caution warm \"exhaust\""),
        inside("wire W7 SP10 to X34:2 GY/RD", "caution \"exhaust\""),
        inside("switch S1", "contact 30 -> 15 key runn crank"),
        inside("vehicle \"Tern\"", "system 12 V { }"),
        line("wire W7 SP10 to X34:2 GY/RD shielded 0.5 mm2 0.4 m twice over"),
        line("splice \"20 cm from A10\""),
        line("circuit reference A"),
        line("vehicle"),
        line("allow dangling-wire \"left in\" on W24"),
        line("splice SP10 under the intake"),
        inside("connector X1 3 cavities", "14 GY/RD"),
        inside("inline X21 10 cavities halves body engine", "6 GY/RD reference A"),
        line("inline X21 10 pins halves body engine"),
        line("inline X21 10-way halves body engine"),
        line("wire W7 from SP10 to X34:2"),
        inside("switch S1", "contact 30 -> 15 key on"),
        inside("supply G1 battery", "terminals +30 -31"),
    ].join("\n"), @r#"
    wier W7 SP10 to X34:2 GY/RD
       unknown-word: `wier` opens no statement
          did you mean `wire`?
          fix: write wire

    Wire W7 SP10 to X34:2 GY/RD
       unknown-word: `Wire` opens no statement
          did you mean `wire`?
          fix: write wire

    fuse F12 10 A typ C
       unknown-word: `typ` is not a word of `fuse`
          did you mean `type`?
          fix: write type

    supply G1 batery
       unknown-word: `batery` is none of `battery`, `generator` or `bench`
          did you mean `battery`?
          fix: write battery

    W7 SP10 to X34:2 GY/RD
       unknown-word: `W7` opens no statement
          `W7` looks like a name; the word that says what it is comes first: `wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m`

    14 GY/RD
       unexpected-text: `14` opens no statement
          lines that open with a number stand in the block of a `connector`, `inline`, `relay` or `switch`

    coil 86 -> 85 80 ohm
       wrong-place: `coil` cannot stand outside all blocks
          `coil` stands in the block of `relay`, `load` or `motor`

    wire W7 SP10 to X34:2 GY/RD 0.5 mm2 0.4 m
       wrong-place: `wire` cannot stand in the block of `sensor`
          `wire` stands outside all blocks

    coil 86 -> 85 80 ohm
       wrong-place: `coil` cannot stand in the block of `sensor`
          `coil` stands in the block of `relay`, `load` or `motor`

    caution warm "exhaust"
       unknown-word: `warm` is none of `airbag`, `high-voltage`, `fuel`, `hot`, `fan` or `moving`
          did you mean `hot`?
          fix: write hot

    caution "exhaust"
       missing-value: before `"exhaust"`, `caution` lacks `airbag`, `high-voltage`, `fuel`, `hot`, `fan` or `moving`
          written like this: `caution hot "exhaust bracket beside the loom"`

    contact 30 -> 15 key runn crank
       unknown-word: `runn` is none of `off`, `accessory`, `run` or `crank`
          did you mean `run`?
          fix: write run

    system 12 V { }
       wrong-place: `system` takes no block
          all it says stands on its line: `system 12 V`

    wire W7 SP10 to X34:2 GY/RD shielded 0.5 mm2 0.4 m twice over
       unexpected-text: `shielded` means nothing in `wire W7`
          written like this: `wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m`; remarks go behind `#` or into `note`
       unquoted-text: `twice over` stands without quotation marks
          a text stands between quotation marks: `"twice over"`
          fix: put quotation marks around it

    splice "20 cm from A10"
       missing-value: before `"20 cm from A10"`, `splice` lacks its name
          written like this: `splice SP10 "20 cm from A10.X2"`

    circuit reference A
       unquoted-text: `reference A` stands without quotation marks
          a text stands between quotation marks: `"reference A"`
          fix: put quotation marks around it

    vehicle
       missing-value: `vehicle` ends before a text in quotation marks
          written like this: `vehicle "Brantwick Tern 1.8"`

    allow dangling-wire "left in" on W24
       missing-value: `allow` lacks the word `because`
          written like this: `allow dangling-wire because "test lead left in on purpose" on W24`
          fix: put because in

    splice SP10 under the intake
       unquoted-text: `under the intake` stands without quotation marks
          a text stands between quotation marks: `"under the intake"`
          fix: put quotation marks around it

     2 | connector X1 3 cavities {
       wrong-place: `connector` cannot stand outside all blocks
          `connector` stands in the block of `module`, `sensor`, `lamp`, `motor`, `heater`, `load`, `relay`, `switch` or `spiral-contact`

    6 GY/RD reference A
       unquoted-text: `reference A` stands without quotation marks
          a text stands between quotation marks: `"reference A"`
          fix: put quotation marks around it

    inline X21 10 pins halves body engine
       unknown-word: `pins` is not a word of `inline`
          the places in a connector are counted as `cavities`
          fix: write cavities

    inline X21 10-way halves body engine
       unknown-character: `-` alone joins nothing
          ends of a wire are joined by `to`, direction is written `->`, a range `15..19`

    wire W7 from SP10 to X34:2
       unexpected-text: `from` means nothing in `wire W7`
          written like this: `wire W7 SP10 to X34:2 GY/RD 0.5 mm2 2.2 m`; remarks go behind `#` or into `note`

    contact 30 -> 15 key on
       unknown-word: `on` is none of `off`, `accessory`, `run` or `crank`
          did you mean `run`?
          fix: write run

    terminals +30 -31
       unexpected-text: `+30` has a sign, and terminals have none
          positive and negative follow from what the terminal is, not from a sign
          fix: write 30
       unexpected-text: `-31` has a sign, and terminals have none
          positive and negative follow from what the terminal is, not from a sign
          fix: write 31
    "#);
}

#[test]
fn characters() {
    insta::assert_snapshot!([
        line("splice SP10 “20 cm from A10”"),
        line("splice SP10 '20 cm from A10'"),
        line("splice SP10 \"20 cm from A10"),
        line("splice SP10;"),
        line("// a remark"),
        line("fuse F12 = 10 A"),
        line("fuse F12 10\u{a0}A\ttype C"),
        line("fuse F12 10 A § type C"),
        line("fuse F12 10 A \u{7} type C").replace('\u{7}', "␇"),
        inside("supply G1 battery", "inner 8 mΩ"),
        inside("reference REF_A 5 V X2:14 -> X2:29", "limit 120 µA"),
    ].join("\n"), @r#"
    splice SP10 “20 cm from A10”
       smart-quote: `“20 cm from A10”` stands between quotation marks of a word processor
          a text stands between plain, straight quotation marks: `"left cowl"`
          fix: write plain quotation marks

    splice SP10 '20 cm from A10'
       smart-quote: `'20 cm from A10'` stands between single quotation marks
          a text stands between plain, straight quotation marks: `"left cowl"`
          fix: write plain quotation marks

    splice SP10 "20 cm from A10
       unclosed-text: `"20 cm from A10` has no closing quotation mark
          a text ends on the line where it begins, with `"`
          fix: close the text here

    splice SP10;
       unknown-character: `;` means nothing here
          a line's end ends a fact; nothing else is needed
          fix: take ; out

    // a remark
       unknown-character: `//` opens no remark here
          a remark opens with `#`
          fix: write #

    fuse F12 = 10 A
       unknown-character: `=` means nothing here
          a value follows its word without a sign between: `volts 12.6 V`
          fix: take = out


    fuse F12 10 A § type C
       unknown-character: `§` means nothing in circuit text
          outside of texts in quotation marks only names, numbers, units and `-> .. { }` are used

    fuse F12 10 A ␇ type C
       unknown-character: an invisible character, U+0007, stands here
          take it out; it most likely came with pasted text
          fix: take it out


     2 | reference REF_A 5 V X2:14 -> X2:29 {
       wrong-place: `reference` cannot stand outside all blocks
          `reference` stands in the block of `module`
    "#);
}

#[test]
fn headers() {
    insta::assert_snapshot!([
        findings("circuit \"reference A\"\n"),
        findings(""),
        findings("halfsplit 2\n"),
        findings("splice SP1\nhalfsplit 1\n"),
        findings("halfsplit\n"),
        findings("\u{feff}halfsplit 1\r\nsplice SP1\r\n"),
    ].join("\n"), @r#"
    1 | circuit "reference A"
      missing-header: the file does not open with `halfsplit 1`
         the first line says which version of the language the file is written in
         fix: put the line in

    1 | 
      missing-header: the file does not open with `halfsplit 1`
         the first line says which version of the language the file is written in
         fix: put the line in

    1 | halfsplit 2
      wrong-version: the file is written in version 2 of the language, and version 1 is read here
         use a newer program for it, or correct the number if it is a slip

    2 | halfsplit 1
      wrong-place: `halfsplit` stands below the file's first line
         it is the first line of a file, once

    1 | halfsplit
      missing-value: `halfsplit` ends before its version, a whole number
         written like this: `halfsplit 1`
    "#);
}

// The language of circuit files for tree-sitter.
//
// Which statements there are, where they may stand and what they take is read from statements.json, which is written
// out of the parser's own table; see ../README.md. Here stand the tokens and the notation of that file.

const { statements, units, colours } = require("./statements.json");

// Letters of names and words, and what may follow the first one.
const LETTER = "A-Za-z_%°Ωµ\\u00C0-\\u024F\\u0370-\\u03FF\\u0400-\\u04FF\\u2126\\u3040-\\u9FFF\\uAC00-\\uD7A3";
const REST = `${LETTER}0-9²`;
const CODE = `(${colours.join("|")})`;

// Outside all blocks.
const TOP = "file";

// The units of all dimensions, each once.
const allUnits = [...new Set(Object.values(units).flat())];

/** All words that some pattern spells out, each once. */
function spelled(pieces) {
  return pieces.flatMap(({ word, words, group }) => [
    ...(word ? [word] : []),
    ...(words ?? []),
    ...(group ? group.flatMap(spelled) : []),
  ]);
}
const allWords = [...new Set(statements.flatMap(({ pattern }) => spelled(pattern)))];

const places = new Set(statements.flatMap((statement) => statement.within));
const blockName = (keyword) => `${keyword.replaceAll("-", "_")}_block`;

/** The rule's name: its keyword and `statement`, and a number where several share the keyword. */
function ruleName(statement) {
  const same = statements.filter((other) => other.keyword === statement.keyword);
  const name = `${statement.keyword.replaceAll("-", "_")}_statement`;
  return same.length === 1 ? name : `${name}_${same.indexOf(statement) + 1}`;
}

/** A value, by the slot's type in the table. */
function slot($, type, words) {
  switch (type) {
    case "Name":
    case "Item":
    case "Word":
      return $.name;
    case "Pin":
      return $.pin;
    case "Terminal":
      return $.terminal;
    case "Text":
      return $.text;
    case "Colour":
      return choice($.colour, $.unknown);
    case "Number":
      return choice($.integer, $.number, $.unknown);
    case "Integer":
      return choice($.integer, $.unknown);
    case "Range":
      return $.range;
    case "Value":
      return choice(
        $.name,
        $.text,
        $.colour,
        $.unknown,
        $.number,
        $.range,
        alias(seq(choice($.integer, $.number), alias(choice(...allUnits), $.unit)), $.quantity),
      );
    case "OneOf":
      return words.length === 1 ? words[0] : choice(...words);
  }
  if (units[type] === undefined) throw new Error(`slots of type ${type} have no rule here`);
  return choice(alias($[`_${type.toLowerCase()}`], $.quantity), $.unknown);
}

function piece($, { word, arrow, type, words, group, times }) {
  let part;
  if (word) part = word;
  else if (arrow) part = $.arrow;
  else if (group) part = choice(...group.map((pieces) => sequence($, pieces)));
  else part = slot($, type, words);
  return { once: part, maybe: optional(part), many: repeat(part), some: repeat1(part) }[times];
}

function sequence($, pieces) {
  const parts = pieces.map((each) => piece($, each));
  return parts.length === 1 ? parts[0] : seq(...parts);
}

/** Lines of which some are statements. */
function lines($, place) {
  const names = statements
    .filter((statement) => statement.within.includes(place) && statement.keyword !== "halfsplit")
    .map((statement) => $[ruleName(statement)]);
  return repeat(seq($._newline, optional(choice(...names))));
}

const rules = {
  source_file: ($) => seq(repeat($._newline), $.header, lines($, TOP)),

  header: () => seq("halfsplit", "1"),
};

for (const statement of statements.filter(({ keyword }) => keyword !== "halfsplit")) {
  const line = ($) => sequence($, statement.pattern);
  rules[ruleName(statement)] = places.has(statement.keyword)
    ? ($) => seq(line($), optional(alias($[blockName(statement.keyword)], $.block)))
    : line;
}

for (const place of places) {
  if (place === TOP) continue;
  const inside = ($) =>
    statements.filter(({ within }) => within.includes(place)).map((statement) => $[ruleName(statement)]);
  rules[blockName(place)] = ($) => seq("{", optional(choice(...inside($))), lines($, place), "}");
}

// In the block of a kind stands what may stand in the block of such a part, with the words of parameters for
// values: any line at all, but for the parameters themselves.
const words = ($, besides) => allWords.filter((word) => !besides.includes(word) && !allUnits.includes(word));
Object.assign(rules, {
  kind_line: ($) =>
    seq(
      choice(...words($, ["parameter", "unknown"]), $.integer, $.numbered),
      repeat(
        choice(
          ...words($, ["unknown"]),
          ...[$.word, $.numbered, $.integer, $.number, $.text, $.colour, $.unknown, $.arrow, ".."],
          alias(choice(...allUnits), $.unit),
        ),
      ),
      optional(alias($.kind_line_block, $.block)),
    ),
  kind_line_block: ($) => seq("{", optional($.kind_line), repeat(seq($._newline, optional($.kind_line))), "}"),
  kind_block: ($) => {
    const line = choice($.parameter_statement, $.kind_line);
    return seq("{", optional(line), repeat(seq($._newline, optional(line))), "}");
  },
});

for (const [dimension, spellings] of Object.entries(units)) {
  rules[`_${dimension.toLowerCase()}`] = ($) =>
    seq(choice($.integer, $.number), alias(choice(...spellings), $.unit));
}

Object.assign(rules, {
  name: ($) => choice($.word, $.numbered),
  // With all numbers, or `0.5` would be taken for a pin `0` and a number `.5`.
  pin: ($) => choice($.word, $.numbered, $.integer, $.number),
  terminal: ($) => choice($.word, $.numbered, $.integer, $.number),
  range: ($) => seq($.integer, optional(seq("..", $.integer))),
  unknown: () => "unknown",
  arrow: () => "->",
  text: () => /"[^"\r\n]*"/,
  colour: () => token(prec(2, new RustRegex(`${CODE}(/${CODE})?`))),
  number: () => /[+\-][0-9]+|[+\-]?([0-9]+\.[0-9]+|\.[0-9]+)/,
  integer: () => /[0-9]+/,
  // 87a, 56b/L, 15/54
  numbered: () => new RustRegex(`[0-9]+([${LETTER}][${REST}]*([.:/\\-][${REST}]+)*|[a-z]?(/[0-9A-Za-z]+)+)`),
  word: () => new RustRegex(`[${LETTER}][${REST}]*([.:/\\-][${REST}]+)*`),
  comment: () => /#[^\r\n]*/,
  _newline: () => /\r\n|\n|\r/,
});

module.exports = grammar({
  name: "halfsplit",
  extras: ($) => [
    /[ \t\u000B\u000C\u00A0\u1680\u2000-\u200D\u202F\u205F\u2060\u3000\uFEFF]+/,
    $.comment,
  ],
  word: ($) => $.word,
  rules,
});

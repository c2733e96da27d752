// Compares three readers of the language: the parser, the tree-sitter grammar, the TextMate grammar.
// Run by grammar/test; the arguments are the folder of tools and the program that says what the parser accepts.

import { execFileSync, spawnSync } from "node:child_process";
import { mkdirSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";

const [tools, accepts] = process.argv.slice(2).map((path) => resolve(path));
const root = resolve(import.meta.dirname, "..");
const { statements, units, colours } = JSON.parse(
  readFileSync(join(root, "grammar/tree-sitter-halfsplit/statements.json"), "utf8"),
);

// Faults that only the parser finds; README.md says why. All others must be found by the tree-sitter grammar too.
const ONLY_THE_PARSER = new Set(["letter-for-digit", "range-spelling", "unexpected-text"]);

const problems = [];

/** Every file below a folder with an ending. */
function files(folder, ending) {
  return readdirSync(folder, { recursive: true })
    .map((name) => join(folder, name))
    .filter((path) => path.endsWith(ending) && statSync(path).isFile())
    .sort();
}

/** A line in the blocks that it needs, with the first line of a file. */
function whole(place, lines) {
  if (place === "file") return `halfsplit 1\n${lines}\n`;
  const owner = statements.find(({ keyword }) => keyword === place);
  const outer = owner.within.includes("file") ? "file" : owner.within[0];
  return whole(outer, `${owner.example} {\n${lines}\n}`);
}

/** The texts to compare, by name. */
function texts() {
  const all = new Map();
  const circuits = ["examples", "crates/model/std"].flatMap((folder) => files(join(root, folder), ".circuit"));
  for (const path of circuits) all.set(path.slice(root.length + 1), readFileSync(path, "utf8"));
  for (const path of [...files(join(root, "crates"), ".md"), ...files(join(root, "examples"), ".md")]) {
    const blocks = readFileSync(path, "utf8").matchAll(/^```(?:halfsplit|(?:circuit|case) [\w/-]+\.\w+)\n([^]*?)^```/gm);
    [...blocks].forEach(([, text], at) => all.set(`${path.slice(root.length + 1)}, block ${at + 1}`, text));
  }
  const pages = [...all.keys()].length;
  // Every statement's example in every place, and each with one token less or doubled.
  for (const { keyword, within, example } of statements.filter(({ keyword }) => keyword !== "halfsplit")) {
    for (const place of within) {
      all.set(`${keyword} in ${place}`, whole(place, example));
    }
    const tokens = example.match(/"[^"]*"|\S+/g);
    tokens.forEach((token, at) => {
      const less = tokens.toSpliced(at, 1).join(" ");
      all.set(`${keyword} without ${token} (${at})`, whole(within[0], less));
      all.set(`${keyword} with ${token} twice (${at})`, whole(within[0], tokens.toSpliced(at, 0, token).join(" ")));
    });
    all.set(`${keyword} in the wrong place`, whole(within.includes("file") ? "connector" : "file", example));
  }
  return { all, pages };
}

function compareParsers() {
  const { all, pages } = texts();
  const folder = join(tools, "texts");
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  const paths = [...all].map(([name, text], at) => {
    const path = join(folder, `${at}.circuit`);
    writeFileSync(path, text);
    return { name, path, text };
  });
  const list = paths.map(({ path }) => path).join("\n") + "\n";
  const said = execFileSync(accepts, { input: list, encoding: "utf8", maxBuffer: 1 << 28 }).split("\n");
  const listed = join(folder, "list");
  writeFileSync(listed, list);
  // Fails when a file has an error, which is what is asked.
  const parsed = spawnSync("tree-sitter", ["parse", "--quiet", "--json-summary", "--paths", listed], {
    cwd: join(tools, "parser"),
    encoding: "utf8",
    maxBuffer: 1 << 28,
  });
  const summary = JSON.parse(parsed.stdout.slice(parsed.stdout.indexOf("{")));
  const good = new Map(summary.parse_summaries.map(({ file, successful }) => [file, successful]));
  let [accepted, rejected, onlyTheParser] = [0, 0, 0];
  paths.forEach(({ name, path, text }, at) => {
    const rules = said[at].split("\t")[1].split(" ").filter(Boolean);
    const sound = good.get(path);
    if (sound === undefined) problems.push(`${name}: not parsed by tree-sitter`);
    else if (rules.length === 0 && !sound) problems.push(`${name}: the parser accepts it, tree-sitter does not\n${text}`);
    else if (rules.length > 0 && sound && !rules.every((rule) => ONLY_THE_PARSER.has(rule)))
      problems.push(`${name}: tree-sitter accepts it, the parser finds ${rules.join(", ")}\n${text}`);
    else if (rules.length > 0 && sound) onlyTheParser += 1;
    else if (sound) accepted += 1;
    else rejected += 1;
  });
  console.log(
    `${all.size} texts, ${pages} of them examples and code blocks: ${accepted} accepted by both, ${rejected} rejected by both, ` +
      `${onlyTheParser} rejected by the parser alone`,
  );
  if (accepted < 100 || rejected < 100) problems.push("too few texts to say anything");
}

/** The words of a pattern, and those that its slots choose from. */
function words(pattern) {
  return pattern.flatMap(({ word, words: choices, group }) => [
    ...(word ? [word] : []),
    ...(choices ?? []),
    ...(group ?? []).flatMap(words),
  ]);
}

async function compareColours() {
  const require = createRequire(join(tools, "node_modules/"));
  const textmate = require("vscode-textmate");
  const oniguruma = require("vscode-oniguruma");
  await oniguruma.loadWASM(readFileSync(require.resolve("vscode-oniguruma/release/onig.wasm")).buffer);
  const registry = new textmate.Registry({
    onigLib: Promise.resolve({
      createOnigScanner: (sources) => new oniguruma.OnigScanner(sources),
      createOnigString: (text) => new oniguruma.OnigString(text),
    }),
    loadGrammar: async () =>
      textmate.parseRawGrammar(readFileSync(join(root, "grammar/halfsplit.tmLanguage.json"), "utf8"), "halfsplit.json"),
  });
  const grammar = await registry.loadGrammar("source.halfsplit");
  /** The innermost scope of the token at the first place of a word in a line. */
  const scope = (line, word) => {
    const at = line.search(new RegExp(`(?<![\\w.:/-])${word.replaceAll(/[.+*?^$()|[\]{}]/g, "\\$&")}(?![\\w.:/-])`));
    const token = grammar.tokenizeLine(line, null).tokens.find(({ startIndex, endIndex }) => startIndex <= at && at < endIndex);
    return token?.scopes.at(-1) ?? "";
  };
  const expect = (line, word, wanted) => {
    const found = scope(line, word);
    if (!wanted.test(found)) problems.push(`${word} in \`${line}\` is coloured ${found}, not ${wanted}`);
  };
  let count = 0;
  for (const { keyword, pattern, example } of statements) {
    const opens = pattern[0].word === keyword;
    if (opens) expect(`  ${example} {`, keyword, /^keyword\.other\.statement/);
    for (const word of words(pattern).slice(opens ? 1 : 0)) {
      expect(`  x ${word} y`, word, /^(keyword|constant\.language)/);
      count += 1;
    }
  }
  for (const unit of Object.values(units).flat()) expect(`  volts 12.6${unit} # ${unit}`, `12.6${unit}`, /^constant\.numeric/);
  for (const unit of Object.values(units).flat()) expect(`  volts 12.6 ${unit}`, unit, /^keyword\.other\.unit/);
  for (const colour of colours) expect(`  14 ${colour}/RD`, `${colour}/RD`, /^constant\.other\.colour/);
  expect('note "a # b"  # c', '"a', /^(string|punctuation)/);
  expect('note "a # b"  # c', "c", /^comment/);
  expect("wire W7 SP10 to X34:2", "W7", /^entity\.name/);
  expect("wire W7 SP10 to X34:2", "X34:2", /^variable/);
  console.log(`${statements.length} keywords and ${count} words of their lines are coloured`);
}

function compareQueries() {
  const path = join(root, "examples/tern/reference-a.circuit");
  const found = spawnSync("tree-sitter", ["query", "queries/highlights.scm", path], { cwd: join(tools, "parser"), encoding: "utf8" });
  if (found.status !== 0) problems.push(`the highlight queries do not fit the grammar:\n${found.stderr}`);
  for (const capture of ["keyword", "keyword.operator", "constant.builtin", "string", "constant", "type", "number", "comment"]) {
    if (!found.stdout.includes(`- ${capture},`)) problems.push(`nothing in the example is captured as ${capture}`);
  }
}

compareParsers();
compareQueries();
await compareColours();
for (const problem of problems.slice(0, 30)) console.error(`\n${problem}`);
if (problems.length > 0) console.error(`\n${problems.length} differences`);
process.exit(problems.length > 0 ? 1 : 0);

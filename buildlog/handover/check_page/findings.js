// How an answer is told: holds, fails with its flaws, or cannot be checked. As `buildlog verify` tells it, whose
// questions, limits and words are put in front of this script.

const BESIDE = {
  sums: "totals in figures.json add up",
  proofs: "proofs on the entries’ pages",
};
const PAYLOAD = "data/";

class Refused extends Error {
  constructor(rule, message, file = "") {
    super(message);
    this.rule = rule;
    this.file = file;
  }
}

const HOLE = /\{(\w+)(?:\|((?:[^{}|]|\{\w+\})*)\|((?:[^{}|]|\{\w+\})*))?\}/g;

// The words of a key in `WORDS` with its values: `{name|one|many}` is the word that agrees with a number.
const say = (key, values = {}) => fill(WORDS[key], values);
const fill = (text, values) => text.replace(HOLE, (all, name, one, many) =>
  (one === undefined ? String(values[name]) : fill(values[name] === 1 ? one : many, values)));
// The reader of this page gave a check up.
class Stopped extends Error {}

const nameRule = (key) => key.split(":")[0];

const flaw = (rule, message, file = "") => ({ rule, message, file });
const tell = (key, file = "", values = {}) => flaw(nameRule(key), say(key, values), file);
const refuse = (key, file = "", values = {}) => new Refused(nameRule(key), say(key, values), file);
const hold = (says) => ({ state: "holds", says, flaws: [], notes: [] });
const leaveOpen = (says) => ({ state: "cannot be checked", says, flaws: [], notes: [] });
// There is nothing of the kind, or its owner openly withheld it: nothing was left undone.
const lack = (says) => ({ ...leaveOpen(says), absent: true });

function judge(flaws, holds) {
  if (!flaws.length) return hold(holds);
  const named = flaws.slice(0, MOST_NAMED);
  const says = say(flaws.length > named.length ? "fails more" : "fails", { flaws: flaws.length, named: named.length });
  return { state: "fails", says, flaws: named, notes: [] };
}

// Code points, as the tool sorts; JavaScript's own order differs beyond U+FFFF.
function byCodePoint(a, b) {
  const left = Array.from(a), right = Array.from(b);
  for (let i = 0; i < Math.min(left.length, right.length); i += 1) {
    if (left[i] !== right[i]) return left[i].codePointAt(0) - right[i].codePointAt(0);
  }
  return left.length - right.length;
}

function sortTexts(texts) {
  const all = Array.from(texts);
  return all.some((text) => /[\ud800-\uffff]/.test(text)) ? all.sort(byCodePoint) : all.sort();
}

// A stranger's words without what would turn or hide them: control and format characters, unusual spaces.
const UNPRINTABLE = /[\p{C}\p{Zl}\p{Zp}]|(?! )\p{Zs}/u;
const isPrintable = (text) => !UNPRINTABLE.test(text);
const tame = (text) => text.replace(new RegExp(UNPRINTABLE, "gu"), "?").slice(0, 200);

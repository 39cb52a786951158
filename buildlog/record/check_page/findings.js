// How an answer is told: holds, fails with its flaws, or cannot be checked. As `buildlog verify` tells it.

const QUESTIONS = {
  files: "every file is there, unchanged, and none was added",
  sealed: "the log’s files are as they were sealed",
  seals: "the seals are chained, none missing",
  stamps: "time stamps",
  signatures: "signatures",
  totals: "costs, parts and faults, reckoned again from the entries",
  service: "service states, reckoned again",
  meter: "the meter, reckoned again",
  identity: "identification numbers, read again",
  evidence: "how far claims are backed, reckoned again",
  pages: "the site’s pages, made again from the entries",
  withheld: "what is withheld",
};
const BESIDE = {
  sums: "the totals in figures.json are the sums of their lines",
  proofs: "the proofs on the entries’ pages lead to the seals",
};
const MOST_NAMED = 5;
const PAYLOAD = "data/";

class Refused extends Error {
  constructor(rule, message, file = "") {
    super(message);
    this.rule = rule;
    this.file = file;
  }
}

const flaw = (rule, message, file = "") => ({ rule, message, file });
const hold = (says) => ({ state: "holds", says, flaws: [] });
const leaveOpen = (says) => ({ state: "cannot be checked", says, flaws: [] });

function judge(flaws, says) {
  if (!flaws.length) return hold(says);
  const named = flaws.slice(0, MOST_NAMED);
  const more = flaws.length > named.length ? `, of which ${named.length} are named` : "";
  return { state: "fails", says: `${flaws.length} ${flaws.length > 1 ? "things do" : "thing does"} not hold${more}`, flaws: named };
}

// Code points, as the tool sorts; JavaScript's own order differs beyond U+FFFF.
function byCodePoint(a, b) {
  const left = Array.from(a), right = Array.from(b);
  for (let i = 0; i < Math.min(left.length, right.length); i += 1) {
    if (left[i] !== right[i]) return left[i].codePointAt(0) - right[i].codePointAt(0);
  }
  return left.length - right.length;
}

const sortTexts = (texts) => Array.from(texts).sort(byCodePoint);

// A stranger's words without what would turn or hide them: control and format characters, unusual spaces.
const UNPRINTABLE = /[\p{C}\p{Zl}\p{Zp}]|(?! )\p{Zs}/u;
const isPrintable = (text) => !UNPRINTABLE.test(text);
const tame = (text) => text.replace(new RegExp(UNPRINTABLE, "gu"), "?").slice(0, 200);

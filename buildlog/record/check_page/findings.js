// How an answer is told: holds, fails with its flaws, or cannot be checked. As `buildlog verify` tells it, whose
// questions are put in front of this script as `QUESTIONS`.

const BESIDE = {
  sums: "totals in figures.json as sums of their lines",
  proofs: "proofs on the entries’ pages",
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

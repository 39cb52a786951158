// The code of a seal: the first 135 bits of its root in base32 (RFC 4648), a check character by ISO/IEC 7064, MOD 37-36.

const LETTERS = 27;
const BASE32 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";
const CHECKED = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const [SHORT_DIGITS, LEAST_DIGITS, WHOLE_DIGITS] = [16, 32, 64];

class NotACode extends Error {}

function spellRoot(root) {
  const bits = BigInt(`0x${root}`) >> BigInt(256 - 5 * LETTERS);
  return Array.from({ length: LETTERS }, (_, i) => BASE32[Number((bits >> BigInt(5 * (LETTERS - 1 - i))) & 31n)]).join("");
}

function findCheck(text) {
  let carried = 36;
  for (const letter of text) {
    carried = (carried + CHECKED.indexOf(letter)) % 36 || 36;
    carried = (carried * 2) % 37;
  }
  return CHECKED[(37 - carried) % 36];
}

function writeCode(root) {
  const letters = spellRoot(root);
  return (letters + findCheck(letters)).match(/..../g).join("-");
}

// The code in a text that somebody typed: now's or the first kind's, or the whole root; null for none.
function readCode(text) {
  const given = text.replace(/[\s-]/g, "");
  if (!given) return null;
  // A text of 28 could be of either kind. It is taken for one of today's, which has a character that shows a slip.
  if (/^[0-9A-Fa-f]+$/.test(given) && given.length >= SHORT_DIGITS && given.length <= WHOLE_DIGITS && given.length !== LETTERS + 1) {
    return { start: given.toLowerCase(), inBase32: false };
  }
  const [letters, check] = [given.slice(0, -1).toUpperCase(), given.slice(-1).toUpperCase()];
  if (letters.length !== LETTERS) {
    throw new NotACode(`a code has ${LETTERS + 1} characters, an older one ${SHORT_DIGITS}, but this has ${given.length}`);
  }
  if (!/^[A-Z2-7]+$/.test(letters) || !CHECKED.includes(check)) {
    throw new NotACode("it has a character that no code has: they use letters and 2 to 7, and any digit at the end");
  }
  if (findCheck(letters) !== check) {
    throw new NotACode("a character in it is wrong, or two are swapped: the check character at the end does not match");
  }
  return { start: letters, inBase32: true };
}

const findKept = (seals, kept) => seals.find((one) => (kept.inBase32 ? spellRoot(one.root) : one.root).startsWith(kept.start));

// What became of all that the seal with the code covered, in plain words; `whole`: the seals and what they cover hold.
function tellCode(seals, kept, whole) {
  const seal = findKept(seals.seals, kept);
  if (!seal) return "";
  const day = sayDay(seal.date);
  if (!whole) return say("code broken", { day });
  const list = (leaves) => new Set(leaves.filter(Boolean).map((leaf) => leaf.path));
  const before = list(seals.leaves.slice(0, seal.leaves)), since = [...list(seals.leaves.slice(seal.leaves))];
  const changed = since.filter((path) => before.has(path)).length;
  return since.length ? say("code holds", { day, changed, added: since.length - changed }) : say("code last", { day });
}

// What was found of the chain of seals, with what a code that was kept adds to it.
function compareCode(found, seals, kept) {
  // Any seal, not the last alone: a code that was noted a year ago is that of an earlier one.
  const seal = findKept(seals, kept);
  if (!seal) return judge([...found.flaws, tell("code-unknown", "data/seals")], "");
  const says = say("seals kept", { says: found.says, number: seal.number, date: seal.date });
  const short = !kept.inBase32 && kept.start.length < LEAST_DIGITS;
  return { ...found, says: short ? say("seals short", { says, bits: SHORT_DIGITS * 4 }) : says };
}

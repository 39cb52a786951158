// Whether the seals hold, and what has become of the files since (RFC 9162, section 2.1, SHA-256).

const SEALS = "data/seals/";
const LEAVES = `${SEALS}leaves.jsonl`;
const SEAL_NAME = /^(\d{4})\.json$/;
const BESIDE_NAME = /^(\d{4})(?:\.json\.sig|\.tsr|\.ca\.pem)$/;
const CONTROL = /[\x00-\x1f\x7f]/;

const nameSeal = (number) => `${String(number).padStart(4, "0")}.json`;
const isSealName = (name) => SEAL_NAME.test(name) && name !== nameSeal(0);

class Tree {
  constructor(hashes) {
    this.levels = [hashes];
    for (let below = hashes; below.length > 1; below = this.levels[this.levels.length - 1]) {
      const level = [];
      for (let i = 0; i + 1 < below.length; i += 2) level.push(hashNode(below[i], below[i + 1]));
      this.levels.push(level);
    }
  }

  root(size) {
    return toHex(size ? this.hash(0, size) : sha256());
  }

  // MTH over a range that the splits of section 2.1.1 lead to.
  hash(start, end) {
    const width = end - start;
    // Whole for powers of two alone: a full subtree, hashed when the tree was made.
    const level = Math.log2(width);
    if (Number.isInteger(level)) return this.levels[level][start / width];
    const middle = start + 2 ** Math.floor(level);
    return hashNode(this.hash(start, middle), this.hash(middle, end));
  }
}

// What lies in the bag's seals, no more of each file than a sound one has.
async function readSealFolder(files) {
  const names = sortTexts([...files.keys()].filter((name) => name.startsWith(SEALS)).map((name) => name.slice(SEALS.length)));
  const seals = new Map();
  for (const name of names.filter(isSealName).slice(0, MOST_SEALS + 1)) {
    seals.set(name, await files.get(SEALS + name).start(LARGEST_SEAL));
  }
  const leaves = files.has(LEAVES) ? await files.get(LEAVES).start(LARGEST_LEAVES) : null;
  return { leaves, seals, others: names.filter((name) => name !== "leaves.jsonl" && !isSealName(name)) };
}

// ── the list of leaves ─────────────────────────────────────────────────────────────────────────────────────────────

function splitLines(data) {
  if (!data || !data.length) return [[], []];
  const ends = [];
  // Counted no further than there may be: a list that is nothing but line ends would else fill the memory.
  for (let at = data.indexOf(10); at >= 0 && ends.length <= MOST_LEAVES; at = data.indexOf(10, at + 1)) ends.push(at);
  if (data.length > LARGEST_LEAVES) return [[], [tell("leaves-too-many", LEAVES, { most: LARGEST_LEAVES, unit: "bytes" })]];
  if (ends.length > MOST_LEAVES) return [[], [tell("leaves-too-many", LEAVES, { most: MOST_LEAVES, unit: "leaves" })]];
  const lines = ends.map((end, i) => data.subarray(i ? ends[i - 1] + 1 : 0, end));
  const last = ends.length ? ends[ends.length - 1] : -1;
  const cut = last + 1 < data.length ? [tell("leaf-cut", LEAVES, { line: ends.length + 1 })] : [];
  return [lines, cut];
}

function readLeaf(line) {
  if (line.length > LONGEST_LINE) throw new NotCanonical("the line is too long");
  const value = readCanonical(line);
  const keys = ["path", "salt", "sha256", "size"];
  const later = hasKeys(value, [...keys, "amends", "reason"]);
  if (!later && !hasKeys(value, keys)) throw new NotCanonical("its keys are not those of a leaf");
  const gone = value.size === null;
  const sound = isSoundPath(value.path) && isText(value.salt) && /^[0-9a-f]{32}$/.test(value.salt)
    && (gone || isCount(value.size)) && (value.sha256 === null || isHash(value.sha256))
    && (!later || (isCount(value.amends) && isReason(value.reason)));
  if (!sound) throw new NotCanonical("a value is not valid in a leaf");
  if (gone !== (value.sha256 === null) || (gone && !later)) {
    throw new NotCanonical("a file that is gone has no size, no checksum, and an earlier leaf");
  }
  return { path: value.path, digest: gone ? null : { size: value.size, sha256: value.sha256 }, amends: later ? value.amends : null };
}

function isReason(text) {
  return isText(text) && !CONTROL.test(text) && !LONE.test(text) && text.trim() !== "" && Array.from(text).length <= LONGEST_REASON;
}

function tellFirst(key, wrong) {
  if (!wrong.length) return [];
  const more = wrong.length > 1 ? say("lines like it", { more: wrong.length - 1 }) : "";
  return [tell(key, LEAVES, { ...wrong[0], more })];
}

function readLeaves(lines) {
  const wrong = [];
  const leaves = lines.map((line, i) => {
    try {
      return readLeaf(line);
    } catch (why) {
      if (!(why instanceof NotCanonical)) throw why;
      // It keeps its number, and its bytes stand in the tree all the same: else all behind it would fail with it.
      wrong.push({ line: i + 1, why: why.message });
      return null;
    }
  });
  return [leaves, tellFirst("leaf-unreadable", wrong)];
}

function checkAmendments(leaves) {
  const latest = new Map();
  const wrong = [];
  leaves.forEach((leaf, number) => {
    if (!leaf) return;
    if (leaf.amends !== (latest.has(leaf.path) ? latest.get(leaf.path) : null)) {
      wrong.push({ line: number + 1, path: tame(leaf.path) });
    }
    latest.set(leaf.path, number);
  });
  return tellFirst("amends-wrong", wrong);
}

// ── the chain of seals ─────────────────────────────────────────────────────────────────────────────────────────────

function readSeal(data) {
  if (data.length > LARGEST_SEAL || data[data.length - 1] !== 10) throw new NotCanonical("its end is missing, or it is too long");
  const value = readCanonical(data.subarray(0, -1));
  const sound = hasKeys(value, ["date", "leaves", "number", "previous", "root"]) && isCount(value.leaves) && value.leaves > 0
    && isCount(value.number) && value.number > 0 && isDay(value.date) && isHash(value.root)
    && (value.previous === null || isHash(value.previous));
  if (!sound) throw new NotCanonical("its values are not those of a seal");
  return { ...value, name: nameSeal(value.number) };
}

function readSealFiles(files) {
  const seals = [];
  const flaws = [];
  for (const [name, data] of files) {
    try {
      const seal = readSeal(data);
      if (seal.name === name) seals.push(seal);
      else flaws.push(tell("seal-misnamed", SEALS + name, { called: seal.name }));
    } catch (why) {
      if (!(why instanceof NotCanonical)) throw why;
      flaws.push(tell("seal-unreadable", SEALS + name, { why: why.message }));
    }
  }
  return [seals, flaws];
}

function checkNumbers(files) {
  const numbers = [0, ...[...files.keys()].map((name) => Number(name.slice(0, 4))).sort((a, b) => a - b)];
  const flaws = [];
  for (let i = 1; i < numbers.length; i += 1) {
    const [first, last] = [nameSeal(numbers[i - 1] + 1), nameSeal(numbers[i] - 1)];
    const gap = numbers[i] - numbers[i - 1];
    if (gap === 2) flaws.push(tell("seal-missing", SEALS + first));
    else if (gap > 2) flaws.push(tell("seal-missing:many", SEALS + first, { last }));
  }
  return flaws;
}

// Each names the sum of the one before, counts more leaves than it, and is dated no earlier.
function checkChain(seals, files) {
  const byNumber = new Map(seals.map((seal) => [seal.number, seal]));
  const flaws = [];
  const fail = (key, seal, values) => flaws.push(tell(key, SEALS + seal.name, values));
  for (const seal of seals) {
    const before = files.get(nameSeal(seal.number - 1)), older = byNumber.get(seal.number - 1);
    if (seal.number === 1 && seal.previous !== null) fail("chain-broken:first", seal);
    else if (before && seal.previous !== toHex(sha256(before))) {
      fail("chain-broken", seal, { before: nameSeal(seal.number - 1) });
    }
    if (older && seal.leaves <= older.leaves) fail("leaves-fall", seal, { leaves: seal.leaves, before: older.leaves });
    if (older && seal.date < older.date) fail("date-falls", seal, { date: seal.date, before: older.date });
  }
  return flaws;
}

function checkRoots(seals, tree, count) {
  const countable = seals.filter((seal) => seal.leaves <= count);
  const holds = countable.map((seal) => tree.root(seal.leaves) === seal.root);
  // A root that holds proves all leaves before it, so a seal before that with another root was itself changed. Behind
  // the last one that holds nobody can tell whether leaves or roots were.
  const lastGood = holds.lastIndexOf(true);
  const flaws = countable.slice(0, Math.max(lastGood, 0)).filter((_, at) => !holds[at]).map((seal) =>
    tell("seal-root-wrong", SEALS + seal.name));
  const start = lastGood >= 0 ? countable[lastGood].leaves : 0;
  const wrong = countable.slice(lastGood + 1);
  if (wrong.length === 1) {
    flaws.push(tell("root-differs", SEALS + wrong[0].name, { first: start + 1, last: wrong[0].leaves }));
  } else if (wrong.length) {
    flaws.push(tell("leaves-changed", LEAVES, { first: start + 1, last: wrong[0].leaves, seal: wrong[0].name }));
  }
  return flaws;
}

function checkEnds(folder, seals, count) {
  const sealed = seals.reduce((most, seal) => Math.max(most, seal.leaves), 0);
  const flaws = [];
  if (folder.leaves === null && folder.seals.size) flaws.push(tell("leaves-missing", LEAVES));
  else if (sealed > count) flaws.push(tell("leaves-cut-short", LEAVES, { lines: count, seal: seals[seals.length - 1].name, sealed }));
  else if (sealed < count) flaws.push(tell("leaves-not-sealed", LEAVES, { lines: count, sealed }));
  for (const name of folder.others) {
    const beside = BESIDE_NAME.exec(name);
    if (name === "unfinished.json") flaws.push(tell("unfinished", SEALS + name));
    else if (!beside || !folder.seals.has(nameSeal(Number(beside[1])))) flaws.push(tell("stray-file:seal", SEALS + name));
  }
  return flaws;
}

// ── all of it ──────────────────────────────────────────────────────────────────────────────────────────────────────

// `present` holds size and sum of the log's files that seals speak of, by path in the log.
function checkSeals(folder, present) {
  const [lines, cut] = splitLines(folder.leaves);
  const [leaves, unread] = readLeaves(lines);
  const [seals, misread] = readSealFiles(folder.seals);
  const tree = new Tree(lines.map(hashLeaf));
  const failures = [
    ...cut, ...unread, ...checkAmendments(leaves), ...misread, ...checkNumbers(folder.seals),
    ...checkChain(seals, folder.seals), ...checkRoots(seals, tree, lines.length), ...checkEnds(folder, seals, lines.length),
  ];
  return { lines, leaves, seals, failures, files: compareFiles(leaves, present) };
}

function findLatest(leaves) {
  const latest = new Map();
  leaves.forEach((leaf, number) => {
    if (leaf) latest.set(leaf.path, number);
  });
  return latest;
}

const isSame = (a, b) => a.size === b.size && a.sha256 === b.sha256;

function compareFiles(leaves, present) {
  const groups = { whole: [], changed: [], missing: [], returned: [], unsealed: [], gone: [] };
  const latest = findLatest(leaves);
  for (const path of sortTexts(new Set([...latest.keys(), ...present.keys()]))) {
    const here = present.get(path), leaf = latest.has(path) ? leaves[latest.get(path)] : null;
    let state;
    if (!leaf) state = "unsealed";
    else if (!leaf.digest) state = here ? "returned" : "gone";
    else if (!here) state = "missing";
    else state = isSame(here, leaf.digest) ? "whole" : "changed";
    groups[state].push(path);
  }
  return groups;
}

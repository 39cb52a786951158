// What in a record contradicts itself, or must be known beside an answer: as the tool says it (`remarks.py`).

const INFO = "bag-info.txt";
const KNOWN_INFO = ["External-Identifier", "External-Description", "Bag-Software-Agent", "Bagging-Date", "Payload-Oxum"];
const EARLIEST = "2020-06-01";
const LARGEST_SIGNATURE = 20000;
const LARGEST_REPLY = 100000;
const SIGNERS = "data/allowed_signers";
const DATED = /^entries\/(\d{4}-\d\d-\d\d)[.-][^/]*\.md$/;
const AMOUNT = /^-?\d{1,12}(?:\.(\d{1,12}))?$/;
const BESIDE_ENDS = { signature: ".json.sig", stamp: ".tsr", authority: ".ca.pem" };

const nameBeside = (seal, what) => `${String(seal.number).padStart(4, "0")}${BESIDE_ENDS[what]}`;
const atSeal = (seal) => SEALS + seal.name;
const findDay = (path) => {
  const match = DATED.exec(path);
  return match && isDay(match[1]) ? match[1] : null;
};

function nameSome(paths) {
  const names = paths.slice(0, MOST_SHOWN).map((path) => `\`${tame(path.replace(/^entries\//, ""))}\``).join(", ");
  return paths.length > MOST_SHOWN ? say("names", { names, more: paths.length - MOST_SHOWN }) : names;
}

// Notes beside others, no more of one rule than are named.
function addNotes(answer, notes) {
  const told = [];
  for (const one of notes) if (told.filter((other) => other.rule === one.rule).length < MOST_NAMED) told.push(one);
  return { ...answer, notes: told };
}

// ── bag-info.txt ───────────────────────────────────────────────────────────────────────────────────────────────────

function compareInfo(lines, handover) {
  const wanted = {
    "External-Identifier": handover.machine,
    "Bagging-Date": handover.as_of,
    "Bag-Software-Agent": `buildlog ${handover.made_by}`,
  };
  return Object.entries(wanted).flatMap(([key, value]) => {
    const said = lines.filter((line) => line.startsWith(`${key}: `)).map((line) => line.slice(key.length + 2));
    if (said.length === 1 && said[0] === value) return [];
    return [tell("info-differs", INFO, { line: key, said: tame(said.join(" ")), list: LIST, value })];
  });
}

function remarkInfo(lines) {
  const more = lines.filter((line) => !KNOWN_INFO.includes(line.split(":")[0]));
  return more.map((line) => tell("info-more", INFO, { line: Array.from(tame(line)).slice(0, 80).join("") }));
}

// ── dates ──────────────────────────────────────────────────────────────────────────────────────────────────────────

const addDay = (day) => new Date(Date.parse(day) + 86400000).toISOString().slice(0, 10);

function checkDates(seals, today) {
  return seals.flatMap((seal) => {
    if (seal.date < EARLIEST) return [tell("date-impossible", atSeal(seal), { date: seal.date, month: EARLIEST.slice(0, 7) })];
    if (seal.date > addDay(today)) return [tell("date-impossible:later", atSeal(seal), { date: seal.date, today })];
    return [];
  });
}

function remarkDates(sealed) {
  const first = new Map();
  sealed.leaves.forEach((leaf, number) => {
    if (leaf && !first.has(leaf.path)) first.set(leaf.path, number);
  });
  const waiting = [...first];
  let at = 0;
  return sealed.seals.flatMap((seal) => {
    const paths = [];
    for (; at < waiting.length && waiting[at][1] < seal.leaves; at += 1) paths.push(waiting[at][0]);
    // By the first leaf of each entry: a later one amends it, and may well be of a later day.
    const later = sortTexts(paths.filter((path) => (findDay(path) || seal.date) > seal.date));
    return later.length ? [tell("sealed-before-its-day", atSeal(seal), { date: seal.date, names: nameSome(later) })] : [];
  });
}

function remarkDay(paths, last, handover, today) {
  const found = [];
  const day = handover.as_of;
  const later = sortTexts(paths.filter((path) => (findDay(path) || day) > day));
  if (later.length) {
    const values = { entries: later.length, day, last: later.map(findDay).sort().pop(), names: nameSome(later) };
    found.push(tell("entries-left-out", LIST, values));
  }
  if (last && last.date > day) found.push(tell("figures-older", LIST, { day, date: last.date }));
  if (day > addDay(today)) found.push(tell("day-to-come", LIST, { day, today }));
  return found;
}

// ── who vouches for what ───────────────────────────────────────────────────────────────────────────────────────────

function remarkLast(sealed, what) {
  const having = sealed.seals.filter((seal) => sealed.has(seal, what));
  const last = sealed.seals[sealed.seals.length - 1];
  if (!having.length || having[having.length - 1] === last) return [];
  const values = { number: last.number, date: last.date };
  return [what === "stamp" ? tell("last-not-stamped", atSeal(last), values) : tell("last-not-signed", atSeal(last), values)];
}

// The DER value at a place (X.690, sections 8.1 and 10.1); null where there is none.
function readValue(data, at) {
  if (at + 2 > data.length) return null;
  let length = data[at + 1], start = at + 2;
  if (length === 0x80) return null;
  if (length > 0x80) {
    const size = length & 0x7f;
    length = data.subarray(start, start + size).reduce((sum, byte) => sum * 256 + byte, 0);
    start += size;
  }
  return start + length > data.length ? null : { tag: data[at], content: data.subarray(start, start + length), end: start + length };
}

// id-ct-TSTInfo, 1.2.840.113549.1.9.16.1.4, in DER: what it leads is the stamp itself (RFC 3161, section 2.4.2).
const TIME_STAMP_INFO = [0x06, 0x0b, 0x2a, 0x86, 0x48, 0x86, 0xf7, 0x0d, 0x01, 0x09, 0x10, 0x01, 0x04];

// The day, in UTC, on which a time-stamp reply says that it stamped: its first GeneralizedTime; null where it says none.
function readStampDay(reply) {
  const at = reply.findIndex((_, i) => TIME_STAMP_INFO.every((byte, j) => reply[i + j] === byte));
  const wrapped = at < 0 ? null : readValue(reply, at + TIME_STAMP_INFO.length);
  const octets = wrapped && wrapped.tag === 0xa0 ? readValue(wrapped.content, 0) : null;
  const info = octets && readValue(octets.content, 0);
  for (let place = 0, value; info && (value = readValue(info.content, place)); place = value.end) {
    if (value.tag !== 0x18) continue;
    const text = String.fromCharCode(...value.content.subarray(0, 40));
    const match = /^(\d{4})(\d\d)(\d\d)([01]\d|2[0-3])[0-5]\d[0-5]\d(?:\.\d+)?Z$/.exec(text);
    const day = match ? match.slice(1, 4).join("-") : "";
    return isDay(day) ? day : null;
  }
  return null;
}

function compareStamps(sealed) {
  const early = [], late = [];
  for (const seal of sealed.seals) {
    const name = nameBeside(seal, "stamp"), time = sealed.beside.get(name) || "";
    const days = time ? Math.round((Date.parse(time) - Date.parse(seal.date)) / 86400000) : 0;
    const values = { time, date: seal.date, days };
    if (days < -1) early.push(tell("stamp-earlier", SEALS + name, values));
    else if (days > PROMPT_STAMP) late.push(tell("stamp-long-after", SEALS + name, values));
    else if (days > 1) late.push(tell("stamp-later", SEALS + name, values));
  }
  return [early, late];
}

// The files of the log that are as they are by a leaf under no signature and no stamp, though others are.
function listUnvouched(sealed, paths) {
  const vouched = sealed.seals.filter((seal) => sealed.has(seal, "signature") || sealed.has(seal, "stamp")).map((seal) => seal.leaves);
  if (!vouched.length) return [];
  const most = Math.max(...vouched);
  const latest = findLatest(sealed.leaves);
  return sortTexts(paths.filter((path) => !latest.has(path) || latest.get(path) >= most));
}

function remarkUnvouched(found, money) {
  const entries = found.filter((path) => path.startsWith("entries/"));
  const others = found.filter((path) => !path.startsWith("entries/"));
  const told = [];
  if (entries.length) told.push(tell("not-vouched", LEAVES, { entries: entries.length, names: nameSome(entries) }));
  if (entries.length && money) {
    const amounts = entries.map((path) => money.amounts.get(path.slice(8, -3))).filter((amount) => amount !== undefined);
    const values = { entries: entries.length, spent: addAmounts(amounts), currency: money.currency };
    told.push(tell("not-vouched:money", LEAVES, { said: told.pop().message, figures: FIGURES, ...values }));
  }
  if (others.length) told.push(tell("not-vouched:files", LEAVES, { files: others.length, names: nameSome(others) }));
  return told;
}

// The sum with as many decimals as the longest of its parts has.
function addAmounts(amounts) {
  const places = Math.max(0, ...amounts.map((amount) => (AMOUNT.exec(amount)[1] || "").length));
  const units = add(amounts.map(toUnits));
  const digits = String(units < 0n ? -units : units).padStart(DECIMALS + 1, "0");
  const fraction = digits.slice(-DECIMALS).slice(0, places);
  return `${units < 0n ? "-" : ""}${digits.slice(0, -DECIMALS)}${fraction ? `.${fraction}` : ""}`;
}

async function readMoney(files) {
  if (!files.has(FIGURES) || files.get(FIGURES).size > LARGEST_FIGURES) return null;
  try {
    const { costs } = readCanonical((await readWhole(files.get(FIGURES), LARGEST_FIGURES)).subarray(0, -1), MOST_FIGURES);
    const rows = costs.by_entry.map((row) => [row.name, row.amount]);
    if (!rows.every(([name, amount]) => isText(name) && isText(amount) && AMOUNT.test(amount)) || !/^[A-Z]{3}$/.test(costs.currency)) return null;
    return { amounts: new Map(rows), currency: costs.currency };
  } catch (why) {
    if (why instanceof NotCanonical || why instanceof TypeError || why instanceof Refused) return null;
    throw why;
  }
}

// The public key that an SSH signature names (OpenSSH, PROTOCOL.sshsig); null where there is none to read.
function readKeyBlob(signature) {
  const text = new TextDecoder("latin1").decode(signature);
  const match = /-----BEGIN SSH SIGNATURE-----([A-Za-z0-9+/= \t\n\r\f\v]+)-----END SSH SIGNATURE-----/.exec(text);
  const armour = match ? match[1].replace(/[ \t\n\r\f\v]/g, "") : "";
  // As strict as the tool is: else one of the two would name a key where the other finds none.
  if (armour.length % 4 || !/^[A-Za-z0-9+/]*={0,2}$/.test(armour)) return null;
  const blob = Uint8Array.from(atob(armour), (char) => char.charCodeAt(0));
  if (blob.length < 14 || !"SSHSIG\0\0\0\x01".split("").every((char, i) => char.charCodeAt(0) === blob[i])) return null;
  const length = new DataView(blob.buffer).getUint32(10);
  const key = blob.subarray(14, 14 + length);
  return length && key.length === length ? key : null;
}

const toBase64 = (bytes) => btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));

function readKey(signature) {
  const key = readKeyBlob(signature);
  return key ? `SHA256:${toBase64(sha256(key)).replace(/=+$/, "")}` : "no key";
}

function remarkKeys(sealed) {
  const signed = sealed.seals.filter((seal) => sealed.has(seal, "signature"));
  const keys = signed.map((seal) => readKey(sealed.beside.get(nameBeside(seal, "signature"))));
  return signed.flatMap((seal, i) => {
    if (!i || keys[i] === keys[i - 1]) return [];
    const values = { number: seal.number, new: keys[i], before: signed[i - 1].number, old: keys[i - 1] };
    return [tell("another-key", SEALS + nameBeside(seal, "signature"), values)];
  });
}

// The lines of the file of signers, as a handover writes them: each key once, in the order of the signatures.
function listSigners(beside) {
  const lines = new Set();
  for (const name of sortTexts(beside.keys())) {
    const key = name.endsWith(BESIDE_ENDS.signature) ? readKeyBlob(beside.get(name)) : null;
    if (!key) continue;
    const length = key.length >= 4 ? new DataView(key.buffer, key.byteOffset).getUint32(0) : 0;
    const kind = String.fromCharCode(...key.subarray(4, 4 + length));
    if (/^[A-Za-z0-9\-@.]*$/.test(kind)) lines.add(`owner namespaces="buildlog" ${kind} ${toBase64(key)}\n`);
  }
  return [...lines].join("");
}

function checkSigners(sealed, signers) {
  const wanted = listSigners(sealed.beside);
  if ((signers || "") === wanted && (signers === null) === !wanted) return [];
  if (signers === null) return [tell("signers-differ:missing", SIGNERS)];
  return [wanted ? tell("signers-differ", SIGNERS) : tell("signers-differ:unsigned", SIGNERS)];
}

function remarkAlone(sealed) {
  const alone = sealed.seals.filter((seal) => sealed.has(seal, "authority") && !sealed.has(seal, "stamp"));
  return alone.map((seal) => tell("no-stamp-for-it", SEALS + nameBeside(seal, "authority")));
}

// ── all of it ──────────────────────────────────────────────────────────────────────────────────────────────────────

async function startOf(files, name, most) {
  try {
    return (await files.get(name).start(most)).subarray(0, most);
  } catch (why) {
    if (!(why instanceof Refused)) throw why;
    return new Uint8Array();
  }
}

async function readBeside(files) {
  const beside = new Map();
  const names = [...files.keys()].filter((name) => name.startsWith(SEALS) && BESIDE_NAME.test(name.slice(SEALS.length)));
  for (const name of sortTexts(names)) {
    const kind = Object.keys(BESIDE_ENDS).find((one) => name.endsWith(BESIDE_ENDS[one]));
    const read = {
      signature: () => startOf(files, name, LARGEST_SIGNATURE),
      stamp: async () => readStampDay(await startOf(files, name, LARGEST_REPLY)) || "", // its day: a bag may have many
      authority: () => "",
    }[kind];
    beside.set(name.slice(SEALS.length), await read());
  }
  return beside;
}

// Flaws and notes by the key of the question; `paths` are those of the log's files that are here.
async function remarkBag(files, handover, seals, paths) {
  // The clock of whoever looks; between two clocks lies less than a day and a bit, which is let pass.
  const today = new Date().toISOString().slice(0, 10);
  const beside = await readBeside(files);
  const sealed = { seals: seals.seals, leaves: seals.leaves, beside, has: (seal, what) => beside.has(nameBeside(seal, what)) };
  const info = files.has(INFO) ? new TextDecoder("utf-8", { ignoreBOM: true }).decode(await startOf(files, INFO, LARGEST_INFO)) : "";
  const lines = info.split("\n").filter(Boolean);
  const signers = files.has(SIGNERS) ? new TextDecoder("latin1").decode(await startOf(files, SIGNERS, LARGEST_SIGNERS)) : null;
  const held = handover ? handover.withheld.filter((one) => one.leaf !== null).map((one) => one.path) : [];
  const known = [...new Set([...paths.filter(isCovered), ...held])];
  const unvouched = listUnvouched(sealed, known);
  const last = sealed.seals[sealed.seals.length - 1];
  const [early, late] = compareStamps(sealed);
  const notes = {
    files: remarkInfo(lines),
    seals: [...remarkDates(sealed), ...remarkAlone(sealed)],
    stamps: [...remarkLast(sealed, "stamp"), ...late],
    signatures: [...remarkLast(sealed, "signature"), ...remarkKeys(sealed)],
    withheld: handover ? remarkDay(paths, last, handover, today) : [],
  };
  const where = sealed.seals.some((seal) => sealed.has(seal, "signature")) ? "signatures" : "stamps";
  notes[where].push(...remarkUnvouched(unvouched, unvouched.length ? await readMoney(files) : null));
  const flaws = {
    files: handover && info ? compareInfo(lines, handover) : [],
    seals: checkDates(sealed.seals, today),
    stamps: early,
    signatures: checkSigners(sealed, signers),
  };
  const stamped = Boolean(last) && sealed.has(last, "stamp");
  return { flaws, notes, asks: handover ? askOfRecord(handover, sealed.seals, stamped, paths) : [] };
}

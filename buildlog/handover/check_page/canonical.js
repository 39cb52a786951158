// Canonical JSON (RFC 8785) so far as a record needs it: texts, integers, lists, objects, true, false and null.

const LONE = /[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/;

class NotCanonical extends Error {}

function decode(bytes) {
  try {
    // A byte order mark is read as the character that it is, and so refused: swallowed, two files would say the same.
    return new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    throw new NotCanonical("this is not UTF-8");
  }
}

function writeCanonical(value, depth = DEEPEST_VALUE) {
  if (value === null || typeof value === "boolean") return String(value);
  if (typeof value === "string") {
    if (LONE.test(value)) throw new NotCanonical("a text contains half of a surrogate pair");
    return JSON.stringify(value);
  }
  if (typeof value === "number") {
    if (!Number.isSafeInteger(value)) throw new NotCanonical("a number is not an integer within 2^53 of zero");
    return String(value);
  }
  if (depth === 0) throw new NotCanonical("lists and objects are nested too deeply");
  if (Array.isArray(value)) return `[${value.map((item) => writeCanonical(item, depth - 1)).join(",")}]`;
  // By UTF-16 code units, as JavaScript sorts by itself and RFC 8785 wants it.
  const pairs = Object.keys(value).sort().map((key) => `${writeCanonical(key)}:${writeCanonical(value[key], depth - 1)}`);
  return `{${pairs.join(",")}}`;
}

// The value that these bytes are the one spelling of; throws NotCanonical for all others.
// Of more than `most` values none is read: each takes far more memory than the signs that it is written with.
function readCanonical(bytes, most = Infinity) {
  if (countValues(bytes) > most) throw new NotCanonical(say("too-many-values", { most }));
  const text = decode(bytes);
  let value;
  try {
    value = JSON.parse(text);
  } catch {
    throw new NotCanonical("this is not JSON");
  }
  // Written again and compared, as the tool does: doubled keys, escapes, blanks, `1.0` and `1e3` all end here.
  if (writeCanonical(value) !== text) throw new NotCanonical("this is JSON, but not in its canonical form");
  return value;
}

// Counted by the signs between them: comma, bracket, brace.
function countValues(bytes) {
  let count = 0;
  for (let i = 0; i < bytes.length; i += 1) if (bytes[i] === 44 || bytes[i] === 91 || bytes[i] === 123) count += 1;
  return count;
}

const isObject = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
const isCount = (value) => Number.isSafeInteger(value) && value >= 0 && !Object.is(value, -0);
const isText = (value) => typeof value === "string";
const isHash = (value) => isText(value) && /^[0-9a-f]{64}$/.test(value);
const hasKeys = (value, keys) => isObject(value) && Object.keys(value).sort().join() === [...keys].sort().join();

function isDay(text) {
  if (!isText(text) || !/^\d{4}-\d\d-\d\d$/.test(text) || text < "0001") return false;
  const day = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(day.getTime()) && day.toISOString().slice(0, 10) === text;
}

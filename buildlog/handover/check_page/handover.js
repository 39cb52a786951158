// What `handover.json` says: the owner's names of files, what is withheld; and whether it fits what is there.

const LIST = "data/handover.json";
const FIXED = ["figures.json", "handover.json", "CHECK.md", "check.html", "allowed_signers"];
const UNSOUND = /[\x00-\x1f\x7f\\]|(?:^|\/)\.{0,2}(?:\/|$)/;

class NotAHandover extends Error {}

const isSoundPath = (path) => isText(path) && !UNSOUND.test(path) && !LONE.test(path) && encode(path).length <= LONGEST_PATH;
const isShownPath = (path) => isSoundPath(path) && isPrintable(path);
const isShortText = (text) => isText(text) && Array.from(text).length <= 200 && isPrintable(text);

function readHandover(bytes) {
  if (bytes[bytes.length - 1] !== 10) throw new NotAHandover("it contains more than a handover should");
  let value;
  try {
    value = readCanonical(bytes.subarray(0, -1), MOST_LISTED);
  } catch (why) {
    throw new NotAHandover(why.message);
  }
  if (!isObject(value) || value.format !== 1) throw new NotAHandover("it is not in format 1, the only one read here");
  const keys = ["as_of", "format", "machine", "made_by", "names", "pictures", "withheld"];
  if (!hasKeys(value, keys) || !isSoundHandover(value)) throw new NotAHandover("its values are not those of a handover");
  return value;
}

function isSoundHandover(value) {
  const paths = isObject(value.names) ? Object.values(value.names) : [null];
  const held = Array.isArray(value.withheld) ? value.withheld : [null];
  return isDay(value.as_of) && isShortText(value.machine) && isShortText(value.made_by) && isObject(value.pictures)
    && Object.keys(value.names).every(isPlainName) && paths.every(isShownPath) && new Set(paths).size === paths.length
    && held.every(isSoundWithheld) && new Set(held.map((one) => one.path)).size === held.length
    && Object.entries(value.pictures).every(([name, set]) => isShownPath(name) && isSoundSet(name, set));
}

function isSoundWithheld(one) {
  // Just these keys, as the tool finds out by writing the list again: what nobody reads must not stand in it unseen.
  return hasKeys(one, ["path", "size", "sha256", "leaf"]) && isShownPath(one.path) && isCount(one.size) && isHash(one.sha256)
    && (one.leaf === null || isCount(one.leaf));
}

const PICTURE_SUFFIXES = { "image/jpeg": ".jpg", "image/webp": ".webp" };

// Whether a picture stands among those of its entry: nobody may call a page or a script of the site a picture.
function isPicturePath(path, entry, suffix) {
  const at = path.lastIndexOf("/");
  return isPlainName(path) && path.slice(0, at) === `photos/${entry}` && path.slice(at + 1).endsWith(suffix);
}

function isSoundSet(name, set) {
  const entry = name.split("/")[0];
  return hasKeys(set, ["colour", "height", "width", "variants"]) && isText(set.colour) && /^#[0-9a-f]{6}$/.test(set.colour)
    && isCount(set.width) && isCount(set.height) && Array.isArray(set.variants)
    && set.variants.every((one) => Array.isArray(one) && one.length === 4 && isText(one[0]) && isText(one[3])
      && Object.hasOwn(PICTURE_SUFFIXES, one[3]) && isPicturePath(one[0], entry, PICTURE_SUFFIXES[one[3]])
      && isCount(one[1]) && isCount(one[2]))
    && set.variants.some((one) => one[3] === "image/jpeg");
}

// ── the names below data/log/ ──────────────────────────────────────────────────────────────────────────────────────

function stripEnds(text) {
  return text.replace(/^[-.]+|[-.]+$/g, "");
}

// Name and suffix, where a dot stands inside the name.
function splitName(file) {
  const at = file.lastIndexOf(".");
  return file.replace(/^\.+|\.+$/g, "").includes(".") ? [file.slice(0, at), ".", file.slice(at + 1)] : [file, "", ""];
}

function keepPlain(text) {
  return stripEnds(text.normalize("NFKD").replace(/[^\x00-\x7f]/g, "").replace(/[^A-Za-z0-9._]+/g, "-"));
}

function simplify(part) {
  if (isPlainPart(part)) return part;
  const [stem, , suffix] = splitName(part);
  const kind = keepPlain(suffix).slice(0, LONGEST_SUFFIX);
  const plain = stripEnds(keepPlain(stem).slice(0, LONGEST_PART - LONGEST_SUFFIX - 10)) || "file";
  const name = kind ? `${plain}.${kind}` : plain;
  return DEVICE.test(name) ? `x-${name}` : name;
}

// The name, then with -2, -3 and so on; the first `skip` of them are left out.
function* numberName(name, skip = 0) {
  if (!skip) yield name;
  const at = name.lastIndexOf("/") + 1;
  const [folder, file] = [name.slice(0, at), name.slice(at)];
  const [stem, dot, suffix] = splitName(file);
  for (let number = Math.max(2, skip + 1); number < 1000000; number += 1) yield `${folder}${stem || suffix}-${number}${dot}${suffix}`;
}

// A plain name for each path, by the rule of the tool: whoever made the bag had no choice.
function nameFiles(paths) {
  const wanted = new Map(paths.map((path) => [path, path.split("/").map(simplify).join("/")]));
  const taken = new Set();
  for (const name of wanted.values()) {
    const parts = name.toLowerCase().split("/");
    for (let i = 1; i < parts.length; i += 1) taken.add(parts.slice(0, i).join("/"));
  }
  const names = new Map();
  const used = new Map(); // how many names were tried for those that simplify alike: none of them is free again
  const rank = (path) => (wanted.get(path) === path ? 0 : 1);
  for (const path of sortTexts(paths).sort((a, b) => rank(a) - rank(b))) {
    const alike = wanted.get(path).toLowerCase();
    for (const name of numberName(wanted.get(path), used.get(alike))) {
      used.set(alike, (used.get(alike) || 0) + 1);
      if (taken.has(name.toLowerCase())) continue;
      names.set(path, name);
      taken.add(name.toLowerCase());
      break;
    }
  }
  return names;
}

// ── what stands where ──────────────────────────────────────────────────────────────────────────────────────────────

// Which files seals speak of.
function isCovered(path) {
  const [folder, ...names] = path.split("/");
  if ([folder, ...names].some((name) => name.startsWith(".") || name.endsWith("~"))) return false;
  if (folder === "entries" || folder === "pages") return names.length === 1 && path.endsWith(".md");
  return path === "log.yaml" || (["photos", "papers"].includes(folder) && names.some(Boolean) && names.length > 0);
}

// The name in the bag of each of the log's files, by its path in the log, and what is wrong with the places of files.
function placeFiles(names, handover) {
  const paths = new Map();
  const flaws = [];
  for (const full of sortTexts(names)) {
    if (!full.startsWith(PAYLOAD)) continue;
    const name = full.slice(PAYLOAD.length);
    const inLog = handover && name.startsWith("log/");
    const short = name.slice(4);
    // Asked for as its own: every object of JavaScript answers to names such as `constructor`.
    const path = inLog ? (Object.hasOwn(handover.names, short) ? handover.names[short] : short) : "";
    if (path && paths.has(path)) flaws.push(tell("name-twice", full, { path }));
    else if (path) paths.set(path, full);
    else if (!name.startsWith("seals/") && !name.startsWith("site/") && !FIXED.includes(name)) {
      flaws.push(tell("stray-file", full));
    }
  }
  return [paths, flaws];
}

function checkPlaces(handover, paths) {
  const flaws = [];
  const differ = [...nameFiles([...paths.keys()])].filter(([path, name]) => path !== name);
  const listed = Object.keys(handover.names);
  if (differ.length !== listed.length || differ.some(([path, name]) => !Object.hasOwn(handover.names, name) || handover.names[name] !== path)) {
    flaws.push(tell("names-wrong", LIST));
  }
  for (const [path, name] of paths) {
    if (!isCovered(path) && !path.startsWith("theme/")) flaws.push(tell("stray-file", name));
  }
  for (const held of handover.withheld) {
    if (paths.has(held.path)) flaws.push(tell("not-withheld", paths.get(held.path)));
  }
  return flaws;
}

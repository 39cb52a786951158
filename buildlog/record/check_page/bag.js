// What is in a bag that came from a stranger, and how its files are read: names and sizes first, within limits.

const MOST_FILES = 300000;
const DEEPEST_NAME = 12;
const LONGEST_NAME = 1000;
const LONGEST_PART = 120;
const LARGEST_DIRECTORY = 40000000;
const MOST_RATIO = 200;
const LEAST_SUSPECT = 10000000;
const DEVICE = /^(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?$/i;
const PART = /^\.?[A-Za-z0-9_-][A-Za-z0-9._-]*$/;

const isPlainPart = (part) => PART.test(part) && !part.endsWith(".") && part.length <= LONGEST_PART && !DEVICE.test(part);
const isPlainName = (name) => name.split("/").every(isPlainPart);

function checkName(name) {
  if (name.length > LONGEST_NAME || name.split("/").length > DEEPEST_NAME) {
    throw new Refused("name-too-long", "a name is too long or lies too deep", tame(name));
  }
  if (!isPlainName(name)) {
    throw new Refused("name-unsafe", "a name leaves the folder or does not mean the same everywhere", tame(name));
  }
  return name;
}

function checkCount(count) {
  if (count > MOST_FILES) throw new Refused("too-many-files", `there are more than ${MOST_FILES} files`);
}

// Refuses names that are one file on some system.
function checkDoubles(names) {
  const lower = new Map();
  for (const name of names) {
    const other = lower.get(name.toLowerCase());
    if (other !== undefined) {
      throw new Refused("names-collide", `this name stands here twice, or differs in case from \`${other}\``, name);
    }
    lower.set(name.toLowerCase(), name);
  }
}

// A file on disk, or stored bytes: reads in chunks.
class PlainFile {
  constructor(blob, name) {
    this.blob = blob;
    this.name = name;
    this.size = blob.size;
  }

  async *chunks() {
    for (let at = 0; at < this.blob.size; at += CHUNK) {
      yield new Uint8Array(await this.blob.slice(at, at + CHUNK).arrayBuffer());
    }
  }

  async sum() {
    return reading(this.name, async () => {
      if (this.size <= AT_ONCE) return toHex(await sha256Whole(await this.blob.arrayBuffer()));
      const total = new Sha256();
      for await (const chunk of this.chunks()) total.update(chunk);
      return toHex(total.digest());
    });
  }

  // The first bytes, at most so many and one more.
  async start(most) {
    return reading(this.name, async () => new Uint8Array(await this.blob.slice(0, most + 1).arrayBuffer()));
  }
}

async function reading(name, read) {
  try {
    return await read();
  } catch (error) {
    if (error instanceof Refused) throw error;
    throw new Refused("unreadable", `it cannot be read: ${tame(String(error.message || error))}`, name);
  }
}

async function readWhole(file, most) {
  if (file.size > most) throw new Refused("too-large", `it has ${file.size} bytes, more than the ${most} that are read`, file.name);
  return (await file.start(most)).subarray(0, most);
}

// ── a folder ───────────────────────────────────────────────────────────────────────────────────────────────────────

// `files` are pairs of a path from above the folder and a File.
function openFolder(files) {
  checkCount(files.length);
  const pairs = files.map(([path, file]) => {
    const name = checkName(path.slice(path.indexOf("/") + 1));
    return [name, new PlainFile(file, name)];
  });
  checkDoubles(pairs.map(([name]) => name));
  return new Map(pairs);
}

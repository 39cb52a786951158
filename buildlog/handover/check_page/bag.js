// What is in a bag that came from a stranger, and how its files are read: names and sizes first, within limits.

const DEVICE = /^(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?$/i;
const PART = /^\.?[A-Za-z0-9_-][A-Za-z0-9._-]*$/;

const isPlainPart = (part) => PART.test(part) && !part.endsWith(".") && part.length <= LONGEST_PART && !DEVICE.test(part);
const isPlainName = (name) => name.split("/").every(isPlainPart);

function checkName(name) {
  if (name.length > LONGEST_NAME || name.split("/").length > DEEPEST_NAME) {
    throw refuse("name-too-long", tame(name));
  }
  if (!isPlainName(name)) {
    throw refuse("name-unsafe", tame(name));
  }
  return name;
}

function checkCount(count) {
  if (count > MOST_FILES) throw refuse("too-many-files", "", { most: MOST_FILES });
}

// Refuses names that are one file on some system.
function checkDoubles(names) {
  const lower = new Map();
  for (const name of names) {
    const other = lower.get(name.toLowerCase());
    if (other !== undefined) {
      throw refuse("names-collide", name, { other });
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

  async whole() {
    return this.size ? new Uint8Array(await this.blob.arrayBuffer()) : new Uint8Array(0);
  }

  async *chunks() {
    for (let at = 0; at < this.blob.size; at += CHUNK) {
      yield new Uint8Array(await this.blob.slice(at, at + CHUNK).arrayBuffer());
    }
  }

  async sum(show) {
    return reading(this.name, () => sumFile(this, show));
  }

  // The first bytes, at most so many and one more.
  async start(most) {
    return reading(this.name, async () => new Uint8Array(await this.blob.slice(0, most + 1).arrayBuffer()));
  }
}

// The sum of a file that gives its bytes whole or in chunks; `show` is told of each lot that was read.
async function sumFile(file, show) {
  if (file.size <= AT_ONCE) {
    const sum = toHex(await sha256Whole(await file.whole()));
    await show(file.size);
    return sum;
  }
  const total = new Sha256();
  for await (const chunk of file.chunks()) {
    total.update(chunk);
    await show(chunk.length);
  }
  return toHex(total.digest());
}

async function reading(name, read) {
  try {
    return await read();
  } catch (error) {
    // Whatever else a browser raises over a stranger's file is told as that file's fault, with its name.
    if (error instanceof Refused || error instanceof Stopped) throw error;
    throw refuse("unreadable", name, { why: tame(String(error.message || error)) });
  }
}

async function readWhole(file, most) {
  if (file.size > most) throw refuse("too-large", file.name, { size: file.size, most });
  return (await file.start(most)).subarray(0, most);
}

// ── a folder ───────────────────────────────────────────────────────────────────────────────────────────────────────

// `files` are pairs of a path from above the folder and a File.
async function openFolder(files, show = async () => {}) {
  checkCount(files.length);
  const pairs = [];
  for (const [path, file] of files) {
    // Without the name of the folder itself: whoever unpacked the bag chose that.
    const name = checkName(path.slice(path.indexOf("/") + 1));
    pairs.push([name, new PlainFile(file, name)]); // a browser looks up the size of each on the disk, while nothing else goes on
    if (pairs.length % 64 === 0) await show(`${pairs.length} of ${files.length} files found`);
  }
  checkDoubles(pairs.map(([name]) => name));
  return new Map(pairs);
}

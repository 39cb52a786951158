// A zip (APPNOTE 6.3.10), read where it lies: stored or deflated members, nothing encrypted, nothing that overlaps.

const slow = (view, at) => Number(view.getBigUint64(at, true));

const WINDOW = 1 << 22; // bytes of the zip that are read at once for small members
const WINDOWS = 4; // how many of them are kept
const SMALL = 1 << 20; // packed bytes up to which a member is read through a window
const PIECE = 1 << 15; // packed bytes that are inflated at once: no more than a thousand times as many come out

async function openZip(blob) {
  const infos = (await readDirectory(blob)).filter((info) => !isFolderMember(info));
  checkCount(infos.length);
  infos.forEach(checkMember);
  checkSizes(infos, blob.size);
  const top = findTop(infos.map((info) => info.name));
  checkDoubles(infos.map((info) => info.name));
  const windows = new Windows(blob);
  return new Map(infos.map((info) => {
    const name = info.name.slice(top.length);
    return [name, new ZipFile(windows, info, name)];
  }));
}

async function view(blob, at, length) {
  if (!(at >= 0 && at <= blob.size)) return new DataView(new ArrayBuffer(0));
  return new DataView(await blob.slice(at, at + length).arrayBuffer());
}

// The end of the zip must be its last 22 bytes: behind it, two readers may find two lists of files.
async function readDirectory(blob) {
  const end = await view(blob, blob.size - 22, 22);
  if (end.byteLength < 22 || end.getUint32(0) !== 0x504b0506 || end.getUint16(20) !== 0) {
    throw refuse("zip-end");
  }
  let [stop, disks, here, count, size, offset] = [
    blob.size - 22, end.getUint32(4, true), end.getUint16(8, true), end.getUint16(10, true), end.getUint32(12, true), end.getUint32(16, true),
  ];
  const place = await view(blob, stop - 20, 20);
  if (place.byteLength === 20 && place.getUint32(0) === 0x504b0607) {
    stop -= 76;
    const whole = await view(blob, stop, 56);
    if (whole.byteLength < 56 || slow(place, 8) !== stop || whole.getUint32(0) !== 0x504b0606) throw refuse("zip-end");
    [disks, here, count, size, offset] = [slow(whole, 16), slow(whole, 24), slow(whole, 32), slow(whole, 40), slow(whole, 48)];
  }
  if (size > Math.min(blob.size, LARGEST_DIRECTORY)) throw refuse("too-many-files:directory");
  if (disks || here !== count || size + offset > stop) throw refuse("zip-broken");
  const directory = await view(blob, stop - size, size);
  const infos = readMembers(directory, stop - size - offset); // behind the bytes that stand before the zip
  if (infos.length !== count || infos.some((info) => info.disk)) throw refuse("zip-broken");
  return infos;
}

const toLatin = (bytes) => Array.from(bytes, (byte) => String.fromCharCode(byte)).join("");

// A name in UTF-8 where its flag says so (APPNOTE 4.4.4, bit 11); of other letters none is read.
function readName(bytes, flags) {
  try {
    return flags & 0x800 ? new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes) : toLatin(bytes);
  } catch {
    throw refuse("zip-broken");
  }
}

function readMembers(directory, before) {
  const infos = [];
  for (let at = 0; at < directory.byteLength;) {
    if (at + 46 > directory.byteLength || directory.getUint32(at) !== 0x504b0102) {
      throw refuse("zip-broken");
    }
    const [nameLength, extraLength, noteLength] = [28, 30, 32].map((part) => directory.getUint16(at + part, true));
    const next = at + 46 + nameLength + extraLength + noteLength;
    if (next > directory.byteLength) throw refuse("zip-broken");
    const info = {
      name: readName(new Uint8Array(directory.buffer, at + 46, nameLength), directory.getUint16(at + 8, true)),
      flags: directory.getUint16(at + 8, true),
      disk: directory.getUint16(at + 34, true),
      method: directory.getUint16(at + 10, true),
      crc: directory.getInt32(at + 16, true),
      packed: directory.getUint32(at + 20, true),
      size: directory.getUint32(at + 24, true),
      mode: directory.getUint16(at + 40, true),
      offset: directory.getUint32(at + 42, true),
    };
    readLargeSizes(info, directory, at + 46 + nameLength, extraLength);
    info.offset += before;
    infos.push(info);
    if (infos.length > MOST_FILES * 2) throw refuse("too-many-files", "", { most: MOST_FILES });
    at = next;
  }
  return infos;
}

// Zip64 (APPNOTE 4.5.3): what does not fit into 32 bits stands in the extra field 1, in this order.
function readLargeSizes(info, directory, at, length) {
  for (let end = at + length; at + 4 <= end;) {
    const kind = directory.getUint16(at, true), size = directory.getUint16(at + 2, true);
    let place = at + 4;
    at = place + size;
    if (at > end) throw refuse("zip-broken");
    if (kind !== 1) continue;
    for (const key of ["size", "packed", "offset"]) {
      if (info[key] !== 0xffffffff) continue;
      if (place + 8 > at) throw refuse("zip-broken");
      info[key] = slow(directory, place);
      place += 8;
    }
  }
}

function isFolderMember(info) {
  if (!info.name.endsWith("/")) return false;
  checkName(info.name.replace(/\/+$/, ""));
  if (info.size || info.packed) throw refuse("zip-member:folder", tame(info.name));
  return true;
}

function checkMember(info) {
  checkName(info.name);
  const kind = info.mode & 0o170000;
  if (kind !== 0 && kind !== 0o100000) throw refuse("not-a-file", info.name);
  if (info.flags & 0x41) throw refuse("zip-member:encrypted", info.name);
  if (info.method !== 0 && info.method !== 8) {
    throw refuse("zip-member:method", info.name);
  }
}

// Members that share bytes are how a small zip gets large without a high ratio (Fifield, WOOT 2019).
function checkSizes(infos, size) {
  let end = 0;
  for (const info of [...infos].sort((a, b) => a.offset - b.offset)) {
    if (info.offset < end) throw refuse("zip-overlap", info.name);
    end = info.offset + 30 + info.packed;
  }
  if (end > size) throw refuse("zip-broken:size");
  const total = infos.reduce((sum, info) => sum + info.size, 0);
  if (total > Math.max(Math.min(MOST_RATIO * size, size + MOST_ADDED), LEAST_SUSPECT)) throw refuse("zip-bomb");
}

function findTop(names) {
  const tops = new Set(names.map((name) => (name.includes("/") ? name.slice(0, name.indexOf("/")) : "")));
  const [top] = tops;
  if (tops.size === 1 && top) return `${top}/`;
  if (tops.size && !tops.has("") && !tops.has("bagit.txt")) throw refuse("no-bag:folders");
  return "";
}

// The zip, of which neighbouring small members are read together: a hundred thousand of them need few reads.
class Windows {
  constructor(blob) {
    this.blob = blob;
    this.kept = new Map();
  }

  async read(at, length) {
    const whole = new Uint8Array(length);
    let filled = 0;
    while (filled < length) {
      const number = Math.floor((at + filled) / WINDOW), window = await this.open(number);
      const part = window.subarray(at + filled - number * WINDOW).subarray(0, length - filled);
      if (!part.length) throw new Error("it ends too early");
      whole.set(part, filled);
      filled += part.length;
    }
    return whole;
  }

  open(number) {
    const found = this.kept.get(number) || this.blob.slice(number * WINDOW, (number + 1) * WINDOW).arrayBuffer().then((data) => new Uint8Array(data));
    this.kept.delete(number);
    this.kept.set(number, found);
    if (this.kept.size > WINDOWS) this.kept.delete(this.kept.keys().next().value);
    return found;
  }
}

// What is inflated from packed bytes, piece by piece, so that not more than a piece of a bomb is ever held.
function inflate(packed) {
  let at = 0;
  const source = new ReadableStream({
    async pull(control) {
      if (at >= packed.size) return control.close();
      control.enqueue(new Uint8Array(await packed.slice(at, at + PIECE).arrayBuffer()));
      at += PIECE;
    },
  }, { highWaterMark: 0 });
  return source.pipeThrough(new DecompressionStream("deflate-raw"));
}

// One member: read no further than the size that it declares, and held against its CRC.
class ZipFile {
  constructor(windows, info, name) {
    this.windows = windows;
    this.info = info;
    this.name = name;
    this.size = info.size;
  }

  // Where its packed bytes start, by its own header, which must name it as the list does.
  async findStart() {
    const { info } = this;
    const head = await this.windows.read(info.offset, 30 + info.name.length);
    const view = new DataView(head.buffer);
    if (view.getUint32(0) !== 0x504b0304) throw new Error("its own header is damaged");
    if (view.getUint16(26, true) !== info.name.length || toLatin(head.subarray(30)) !== info.name) {
      throw new Error("its own header names another file");
    }
    return info.offset + head.length + view.getUint16(28, true);
  }

  async open() {
    const start = await this.findStart(), { method, packed } = this.info;
    if (!this.size) return new Blob().stream();
    const bytes = packed <= SMALL ? new Blob([await this.windows.read(start, packed)]) : this.windows.blob.slice(start, start + packed);
    return method === 0 ? bytes.stream() : inflate(bytes);
  }

  async *chunks() {
    const reader = (await this.open()).getReader();
    let left = this.size, crc = 0;
    try {
      while (left > 0) {
        const { done, value } = await reader.read();
        if (done) throw new Error("it ends too early");
        const chunk = value.subarray(0, left);
        left -= chunk.length;
        crc = addCrc(crc, chunk);
        yield chunk;
      }
    } finally {
      reader.cancel().catch(() => {});
    }
    if (crc !== this.info.crc) throw new Error("its CRC is wrong");
  }

  async whole() {
    const whole = new Uint8Array(this.size);
    let filled = 0;
    for await (const chunk of this.chunks()) {
      whole.set(chunk, filled);
      filled += chunk.length;
    }
    return whole;
  }

  async sum(show) {
    return reading(this.name, () => sumFile(this, show));
  }

  async start(most) {
    return reading(this.name, async () => {
      const parts = [];
      let length = 0;
      for await (const chunk of this.chunks()) {
        parts.push(chunk);
        length += chunk.length;
        if (length > most) break;
      }
      return new Uint8Array(await new Blob(parts).slice(0, most + 1).arrayBuffer());
    });
  }
}

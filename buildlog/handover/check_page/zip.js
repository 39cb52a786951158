// A zip (APPNOTE 6.3.10), read where it lies: stored or deflated members, nothing encrypted, nothing that overlaps.

// Beyond 2^53 this is rounded, and far beyond every limit.
const slow = (view, at) => Number(view.getBigUint64(at, true));

const WINDOW = 1 << 22; // bytes of the zip that are read at once for small members
const WINDOWS = 4; // how many of them are kept
const SMALL = 1 << 20; // packed bytes up to which a member is read through a window
const PIECE = 1 << 15; // packed bytes that are inflated at once: no more than a thousand times as many come out

async function openZip(blob) {
  const [all, stop] = await readDirectory(blob);
  const infos = all.filter((info) => !isFolderMember(info));
  checkCount(infos.length);
  infos.forEach(checkMember);
  checkSizes(infos, blob.size);
  const windows = new Windows(blob);
  await checkTiles(windows, all, stop);
  const top = findTop(infos.map((info) => info.name));
  checkDoubles(infos.map((info) => info.name));
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
    const alone = place.getUint32(4, true) === 0 && slow(place, 8) === stop && place.getUint32(16, true) === 1;
    if (whole.byteLength < 56 || !alone || whole.getUint32(0) !== 0x504b0606) throw refuse("zip-end");
    const plain = [end.getUint16(4, true), end.getUint16(6, true), here, count, size, offset];
    const large = [whole.getUint32(16, true), whole.getUint32(20, true), ...[24, 32, 40, 48].map((at) => slow(whole, at))];
    const agree = plain.every((value, i) => value === large[i] || value === (i < 4 ? 0xffff : 0xffffffff));
    if (slow(whole, 4) !== 44 || !agree) throw refuse("zip-broken"); // a reader may know the plain end alone
    disks = large[0] || large[1];
    [here, count, size, offset] = large.slice(2);
  }
  if (size > Math.min(blob.size, LARGEST_DIRECTORY)) throw refuse("too-many-files:directory");
  if (disks || here !== count || size + offset > stop) throw refuse("zip-broken");
  if (size + offset < stop) throw refuse("zip-gap");
  const infos = readMembers(await view(blob, offset, size));
  if (infos.length !== count || infos.some((info) => info.disk)) throw refuse("zip-broken");
  for (const info of infos) if (info.otherName) throw refuse("zip-member:name", tame(info.name));
  return [infos, offset];
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

function readMembers(directory) {
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
    infos.push(info);
    // Twice as many: folders are members as well, and are counted out before the limit is.
    if (infos.length > MOST_FILES * 2) throw refuse("too-many-files", "", { most: MOST_FILES });
    at = next;
  }
  return infos;
}

// Zip64 (APPNOTE 4.5.3): what does not fit into 32 bits stands in the extra field 1, in this order. And whether a member
// has a second name (4.6.9).
function readLargeSizes(info, directory, at, length) {
  for (let end = at + length; at + 4 <= end;) {
    const kind = directory.getUint16(at, true), size = directory.getUint16(at + 2, true);
    let place = at + 4;
    at = place + size;
    if (at > end) throw refuse("zip-broken");
    info.otherName = info.otherName || kind === 0x7075;
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
  // Stored and deflated, as the tool reads them: two readers that knew other methods could find two bags in one zip.
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

// Refuse a zip whose members, as they lie, are not just those of the list, one after the other from the first byte. A reader
// that goes along the members, one that trusts the list, and one that searches for the list find the same files then.
async function checkTiles(windows, infos, stop) {
  const ordered = [...infos].sort((a, b) => a.offset - b.offset);
  if ((ordered.length ? ordered[0].offset : stop) !== 0) throw refuse("zip-gap");
  for (let i = 0; i < ordered.length; i += 1) {
    const info = ordered[i], end = i + 1 < ordered.length ? ordered[i + 1].offset : stop;
    const behind = (await checkHeader(windows, info)) + info.packed;
    if (behind > stop) throw refuse("zip-broken:size");
    if (behind > end) throw refuse("zip-overlap", info.name);
    if (behind < end && !(await isDescriptor(windows, info, behind, end))) throw refuse("zip-gap");
  }
}

const SAME_FLAGS = 0x2849; // encrypted, streamed, strongly encrypted, name in UTF-8, header masked
const STREAMED = 8; // sizes stand behind the member (APPNOTE 4.3.9)

// Where a member's bytes start, when its own header (APPNOTE 4.3.7) says what the list says of it.
async function checkHeader(windows, info) {
  const name = tame(info.name), unread = (why) => refuse("unreadable", name, { why });
  const read = async (at, length) => new DataView((await windows.read(at, length).catch(() => new Uint8Array())).buffer);
  const head = await read(info.offset, 30);
  if (head.byteLength < 30 || head.getUint32(0) !== 0x504b0304) throw unread("its own header is damaged");
  const [length, more] = [head.getUint16(26, true), head.getUint16(28, true)];
  const rest = await read(info.offset + 30, length + more);
  if (rest.byteLength < length || toLatin(new Uint8Array(rest.buffer, 0, length)) !== info.name) throw unread("its own header names another file");
  const own = { packed: head.getUint32(18, true), size: head.getUint32(22, true) };
  readLargeSizes(own, rest, length, more);
  if (own.otherName) throw refuse("zip-member:name", name);
  const crc = head.getInt32(14, true), { flags, method } = info;
  const fits = [[crc, info.crc], [own.packed, info.packed], [own.size, info.size]]
    .every(([one, other]) => one === other || (flags & STREAMED && !one)); // 0: not known yet, as with `zip - | …`
  if (head.getUint16(8, true) !== method || (head.getUint16(6, true) ^ flags) & SAME_FLAGS || !fits) {
    throw refuse("zip-member:header", name);
  }
  return info.offset + 30 + length + more;
}

// Whether what stands behind a streamed member is its CRC and sizes, in 32 or 64 bits, with or without a mark.
async function isDescriptor(windows, info, at, end) {
  if (!(info.flags & STREAMED) || ![12, 16, 20, 24].includes(end - at)) return false;
  const bytes = await windows.read(at, end - at);
  const marked = [16, 24].includes(end - at), data = new DataView(bytes.buffer, marked ? 4 : 0);
  if (marked && new DataView(bytes.buffer).getUint32(0) !== 0x504b0708) return false;
  const [packed, size] = data.byteLength === 12 ? [data.getUint32(4, true), data.getUint32(8, true)] : [slow(data, 4), slow(data, 12)];
  return data.getInt32(0, true) === info.crc && packed === info.packed && size === info.size;
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

// What is inflated from packed bytes, piece by piece, so that not more than a piece of a bomb is ever held. `read` gives
// the bytes from a place on, at most a piece of them.
function inflate(read, size) {
  let at = 0;
  const source = new ReadableStream({
    async pull(control) {
      if (at >= size) return control.close();
      control.enqueue(await read(at));
      at += PIECE;
    },
  }, { highWaterMark: 0 });
  return source.pipeThrough(new DecompressionStream("deflate-raw"));
}

async function* readStream(stream) {
  const reader = stream.getReader();
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      yield value;
    }
  } finally {
    reader.cancel().catch(() => {});
  }
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

  // Its bytes, as they are unpacked. Those of a small one are never made a Blob again: a browser hands each to another of its
  // processes, which takes longer than all else that is done with it.
  async *unpack() {
    const start = await this.findStart(), { method, packed } = this.info;
    if (!this.size) return;
    if (packed > SMALL) {
      const blob = this.windows.blob.slice(start, start + packed);
      const read = async (at) => new Uint8Array(await blob.slice(at, at + PIECE).arrayBuffer());
      yield* readStream(method === 0 ? blob.stream() : inflate(read, packed));
      return;
    }
    const bytes = await this.windows.read(start, packed);
    if (method === 0) yield bytes;
    else yield* readStream(inflate((at) => bytes.slice(at, at + PIECE), packed));
  }

  async *chunks() {
    let left = this.size, crc = 0;
    for await (const value of this.unpack()) {
      const chunk = value.subarray(0, left);
      left -= chunk.length;
      crc = addCrc(crc, chunk);
      yield chunk;
      if (!left) break;
    }
    if (left) throw new Error("it ends too early");
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
      const wanted = Math.min(this.size, most + 1), start = new Uint8Array(wanted);
      let filled = 0;
      for await (const chunk of this.chunks()) {
        const part = chunk.subarray(0, wanted - filled);
        start.set(part, filled);
        filled += part.length;
        if (filled > most) break;
      }
      return start;
    });
  }
}

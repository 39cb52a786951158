// A zip (APPNOTE 6.3.10), read where it lies: stored or deflated members, nothing encrypted, nothing that overlaps.

const slow = (view, at) => Number(view.getBigUint64(at, true));

async function openZip(blob) {
  const infos = (await readDirectory(blob)).filter((info) => !isFolderMember(info));
  checkCount(infos.length);
  infos.forEach(checkMember);
  checkSizes(infos, blob.size);
  const top = findTop(infos.map((info) => info.name));
  checkDoubles(infos.map((info) => info.name));
  return new Map(infos.map((info) => {
    const name = info.name.slice(top.length);
    return [name, new ZipFile(blob, info, name)];
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
    throw new Refused("zip-end", "this is no folder, and no zip that ends as one does");
  }
  let size = end.getUint32(12, true), offset = end.getUint32(16, true), stop = blob.size - 22, count = end.getUint16(10, true);
  const place = await view(blob, blob.size - 42, 20);
  if (place.byteLength === 20 && place.getUint32(0) === 0x504b0607) {
    const whole = await view(blob, slow(place, 8), 56);
    if (whole.byteLength < 56 || whole.getUint32(0) !== 0x504b0606) throw new Refused("zip-end", "this is no zip that ends as one does");
    [size, offset, count, stop] = [slow(whole, 40), slow(whole, 48), slow(whole, 32), slow(place, 8)];
  }
  if (size > Math.min(blob.size, LARGEST_DIRECTORY)) {
    throw new Refused("too-many-files", "its list of files is larger than will be read");
  }
  const before = stop - size - offset; // bytes that stand before the zip
  const directory = await view(blob, stop - size, size);
  if (before < 0 || directory.byteLength !== size) throw new Refused("zip-broken", "its list of files is damaged");
  return readMembers(directory, before, count);
}

function readMembers(directory, before, count) {
  const infos = [];
  for (let at = 0; at < directory.byteLength;) {
    if (at + 46 > directory.byteLength || directory.getUint32(at) !== 0x504b0102) {
      throw new Refused("zip-broken", "its list of files is damaged");
    }
    const [nameLength, extraLength, noteLength] = [28, 30, 32].map((part) => directory.getUint16(at + part, true));
    const next = at + 46 + nameLength + extraLength + noteLength;
    if (next > directory.byteLength) throw new Refused("zip-broken", "its list of files is damaged");
    const info = {
      name: String.fromCharCode(...new Uint8Array(directory.buffer, at + 46, nameLength)),
      flags: directory.getUint16(at + 8, true),
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
    if (infos.length > MOST_FILES * 2) throw new Refused("too-many-files", `there are more than ${MOST_FILES} files`);
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
    if (at > end) throw new Refused("zip-broken", "its list of files is damaged");
    if (kind !== 1) continue;
    for (const key of ["size", "packed", "offset"]) {
      if (info[key] !== 0xffffffff) continue;
      if (place + 8 > at) throw new Refused("zip-broken", "its list of files is damaged");
      info[key] = slow(directory, place);
      place += 8;
    }
  }
}

function isFolderMember(info) {
  if (!info.name.endsWith("/")) return false;
  checkName(info.name.replace(/\/+$/, ""));
  if (info.size || info.packed) throw new Refused("zip-member", "a folder that holds bytes", tame(info.name));
  return true;
}

function checkMember(info) {
  checkName(info.name);
  const kind = info.mode & 0o170000;
  if (kind !== 0 && kind !== 0o100000) throw new Refused("not-a-file", "this is a link or a device, no file", info.name);
  if (info.flags & 0x41) throw new Refused("zip-member", "this file is encrypted", info.name);
  if (info.method !== 0 && info.method !== 8) {
    throw new Refused("zip-member", "this file is packed in a way that is not read", info.name);
  }
}

// Members that share bytes are how a small zip gets large without a high ratio (Fifield, WOOT 2019).
function checkSizes(infos, size) {
  let end = 0;
  for (const info of [...infos].sort((a, b) => a.offset - b.offset)) {
    if (info.offset < end) throw new Refused("zip-overlap", "two files use the same bytes of the zip", info.name);
    end = info.offset + 30 + info.packed;
  }
  if (end > size) throw new Refused("zip-broken", "it says that it holds more bytes than it has");
  const total = infos.reduce((sum, info) => sum + info.size, 0);
  if (total > Math.max(MOST_RATIO * size, LEAST_SUSPECT)) {
    throw new Refused("zip-bomb", `its files would be more than ${MOST_RATIO} times larger than the zip`);
  }
}

function findTop(names) {
  const tops = new Set(names.map((name) => (name.includes("/") ? name.slice(0, name.indexOf("/")) : "")));
  const [top] = tops;
  if (tops.size === 1 && top) return `${top}/`;
  if (tops.size && !tops.has("") && !tops.has("bagit.txt")) throw new Refused("no-bag", "the zip holds more than one folder");
  return "";
}

// One member: read no further than the size that it declares, and held against its CRC.
class ZipFile {
  constructor(zip, info, name) {
    this.zip = zip;
    this.info = info;
    this.name = name;
    this.size = info.size;
  }

  async open() {
    const { zip, info } = this;
    const head = await view(zip, info.offset, 30);
    if (head.byteLength < 30 || head.getUint32(0) !== 0x504b0304) throw new Error("its own header is damaged");
    const length = head.getUint16(26, true);
    const start = info.offset + 30 + length + head.getUint16(28, true);
    const name = new Uint8Array(await zip.slice(info.offset + 30, info.offset + 30 + length).arrayBuffer());
    if (String.fromCharCode(...name) !== info.name) throw new Error("its own header names another file");
    const packed = zip.slice(start, start + info.packed);
    if (info.method === 0) return packed.stream();
    return packed.stream().pipeThrough(new DecompressionStream("deflate-raw"));
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

  async sum() {
    return reading(this.name, async () => {
      const total = new Sha256();
      for await (const chunk of this.chunks()) total.update(chunk);
      return toHex(total.digest());
    });
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

// Sums of files: SHA-256 and, for a zip, CRC-32 (APPNOTE 4.4.7). A file is never held whole if it is large.

const CHUNK = 1 << 20;
const AT_ONCE = 1 << 24; // bytes up to which a file is given to the browser's own SHA-256 whole

const { Sha256, sha256, toHex, fromHex, hashLeaf, hashNode, climb } = merkle;
const encode = (text) => new TextEncoder().encode(text);

async function sha256Whole(bytes) {
  if (!globalThis.crypto || !crypto.subtle) return sha256(bytes); // a page that is no secure context has none
  return new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
}

const CRC_TABLE = Int32Array.from({ length: 256 }, (_, n) => {
  let value = n;
  for (let bit = 0; bit < 8; bit += 1) value = value & 1 ? (value >>> 1) ^ 0xedb88320 : value >>> 1;
  return value;
});

function addCrc(crc, bytes) {
  let value = ~crc;
  for (let i = 0; i < bytes.length; i += 1) value = CRC_TABLE[(value ^ bytes[i]) & 255] ^ (value >>> 8);
  return ~value;
}

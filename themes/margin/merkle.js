// From a leaf to the root of a Merkle tree (RFC 9162, section 2.1, with SHA-256): what an entry's page and the page that
// checks a bag both work out. An entry's page loads this file; the other page stands alone and has it in its own script,
// so nothing may stand here that one of them lacks. No modules: a browser loads none from a disk.
"use strict";

const merkle = (() => {
  // SHA-256 (FIPS 180-4) is written out: a page that is opened from a disk or over plain HTTP may have no other.
  const [START, CONSTANTS] = makeConstants();

  // The first 32 bits of the fractional parts of square and cube roots of primes (FIPS 180-4, sections 5.3.3, 4.2.2).
  function makeConstants() {
    const fraction = (value) => ((value - Math.floor(value)) * 2 ** 32) | 0;
    const primes = [];
    for (let n = 2; primes.length < 64; n += 1) {
      if (primes.every((prime) => n % prime)) primes.push(n);
    }
    const roots = primes.slice(0, 8).map((prime) => fraction(Math.sqrt(prime)));
    return [Int32Array.from(roots), Int32Array.from(primes, (prime) => fraction(Math.cbrt(prime)))];
  }

  class Sha256 {
    constructor() {
      this.state = Int32Array.from(START);
      this.words = new Int32Array(64);
      this.rest = new Uint8Array(64);
      this.length = 0;
    }

    update(bytes) {
      let at = 0;
      const filled = this.length % 64;
      this.length += bytes.length;
      if (filled) {
        at = Math.min(64 - filled, bytes.length);
        this.rest.set(bytes.subarray(0, at), filled);
        if (filled + at < 64) return;
        this.mix(this.rest, 0);
      }
      for (; at + 64 <= bytes.length; at += 64) this.mix(bytes, at);
      this.rest.set(bytes.subarray(at));
    }

    digest() {
      const length = this.length;
      const end = new Uint8Array(length % 64 < 56 ? 64 - (length % 64) : 128 - (length % 64));
      const view = new DataView(end.buffer);
      end[0] = 0x80;
      view.setUint32(end.length - 8, Math.floor(length / 2 ** 29));
      view.setUint32(end.length - 4, (length * 8) % 2 ** 32);
      this.update(end);
      const out = new DataView(new ArrayBuffer(32));
      this.state.forEach((word, i) => out.setInt32(4 * i, word));
      return new Uint8Array(out.buffer);
    }

    mix(bytes, at) {
      const w = this.words;
      const s = this.state;
      for (let t = 0; t < 16; t += 1, at += 4) {
        w[t] = (bytes[at] << 24) | (bytes[at + 1] << 16) | (bytes[at + 2] << 8) | bytes[at + 3];
      }
      for (let t = 16; t < 64; t += 1) {
        const x = w[t - 15];
        const y = w[t - 2];
        const low = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
        const high = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
        w[t] = (w[t - 16] + low + w[t - 7] + high) | 0;
      }
      let a = s[0], b = s[1], c = s[2], d = s[3], e = s[4], f = s[5], g = s[6], h = s[7];
      for (let t = 0; t < 64; t += 1) {
        const big = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
        const one = (h + big + ((e & f) ^ (~e & g)) + CONSTANTS[t] + w[t]) | 0;
        const sum = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
        const two = (sum + ((a & b) ^ (a & c) ^ (b & c))) | 0;
        h = g; g = f; f = e; e = (d + one) | 0; d = c; c = b; b = a; a = (one + two) | 0;
      }
      s[0] += a; s[1] += b; s[2] += c; s[3] += d; s[4] += e; s[5] += f; s[6] += g; s[7] += h;
    }
  }

  function sha256(...parts) {
    const total = new Sha256();
    for (const part of parts) total.update(part);
    return total.digest();
  }

  const toHex = (bytes) => Array.from(bytes, (byte) => (byte + 256).toString(16).slice(1)).join("");
  const fromHex = (text) => Uint8Array.from(text.match(/../g) || [], (pair) => parseInt(pair, 16));

  // Prefixes by which no node can pass as a leaf (section 2.1.1).
  const LEAF = Uint8Array.of(0);
  const NODE = Uint8Array.of(1);
  const hashLeaf = (line) => sha256(LEAF, line);
  const hashNode = (left, right) => sha256(NODE, left, right);

  // Section 2.1.3.2, steps 1 to 5; null where the path does not fit the place. Halved by division, not by shifting:
  // place and size come from whoever wrote the page, and a shift would cut them to 32 bits and let a wrong one pass.
  function climb(leafHash, index, size, path) {
    if (!(Number.isSafeInteger(index) && Number.isSafeInteger(size) && index >= 0 && index < size)) return null;
    let fn = index, sn = size - 1, r = leafHash;
    for (const p of path) {
      if (sn === 0) return null;
      if (fn % 2 || fn === sn) {
        r = hashNode(p, r);
        while (fn % 2 === 0 && fn) [fn, sn] = [Math.floor(fn / 2), Math.floor(sn / 2)];
      } else {
        r = hashNode(r, p);
      }
      [fn, sn] = [Math.floor(fn / 2), Math.floor(sn / 2)];
    }
    return sn === 0 ? r : null;
  }

  return { Sha256, sha256, toHex, fromHex, hashLeaf, hashNode, climb };
})();

// Works out an entry's proof again, in the page and without a network: leaf → root (RFC 9162, section 2.1.3.2).
// SHA-256 (FIPS 180-4) is written out here: a page that is opened from a disk or over plain HTTP may have no other.
"use strict";

(function () {
  var CONSTANTS = [];
  var START = [];

  // The first 32 bits of the fractional parts of cube and square roots of primes (FIPS 180-4, sections 4.2.2, 5.3.3).
  (function () {
    function fraction(value) { return (value - Math.floor(value)) * 4294967296 | 0; }
    for (var n = 2; CONSTANTS.length < 64; n += 1) {
      var prime = true;
      for (var d = 2; d * d <= n; d += 1) { prime = prime && n % d !== 0; }
      if (prime) {
        if (START.length < 8) { START.push(fraction(Math.sqrt(n))); }
        CONSTANTS.push(fraction(Math.cbrt(n)));
      }
    }
  }());

  function turn(word, by) { return word >>> by | word << 32 - by; }

  function mixBlock(state, view, at) {
    var w = new Int32Array(64);
    for (var t = 0; t < 16; t += 1) { w[t] = view.getInt32(at + 4 * t); }
    for (t = 16; t < 64; t += 1) {
      var low = w[t - 15], high = w[t - 2];
      w[t] = w[t - 16] + w[t - 7] + (turn(low, 7) ^ turn(low, 18) ^ low >>> 3) + (turn(high, 17) ^ turn(high, 19) ^ high >>> 10);
    }
    var a = state[0], b = state[1], c = state[2], d = state[3], e = state[4], f = state[5], g = state[6], h = state[7];
    for (t = 0; t < 64; t += 1) {
      var one = h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + (e & f ^ ~e & g) + CONSTANTS[t] + w[t] | 0;
      var two = (turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + (a & b ^ a & c ^ b & c) | 0;
      h = g; g = f; f = e; e = d + one | 0; d = c; c = b; b = a; a = one + two | 0;
    }
    [a, b, c, d, e, f, g, h].forEach(function (value, i) { state[i] = state[i] + value | 0; });
  }

  function sha256(bytes) {
    var padded = new Uint8Array(bytes.length + 72 - (bytes.length + 8) % 64);
    padded.set(bytes);
    padded[bytes.length] = 0x80;
    var view = new DataView(padded.buffer);
    view.setUint32(padded.length - 8, Math.floor(bytes.length / 0x20000000));
    view.setUint32(padded.length - 4, bytes.length << 3 >>> 0);
    var state = new Int32Array(START);
    for (var at = 0; at < padded.length; at += 64) { mixBlock(state, view, at); }
    var out = new DataView(new ArrayBuffer(32));
    state.forEach(function (value, i) { out.setInt32(4 * i, value); });
    return new Uint8Array(out.buffer);
  }

  function toHex(bytes) {
    return Array.from(bytes, function (byte) { return (byte + 256).toString(16).slice(1); }).join("");
  }

  function fromHex(text) {
    if (!/^[0-9a-f]{64}$/.test(text)) { throw new Error("not a checksum: " + text); }
    return Uint8Array.from(text.match(/../g), function (pair) { return parseInt(pair, 16); });
  }

  function hashNode(prefix, left, right) {
    var joined = new Uint8Array(1 + left.length + right.length);
    joined[0] = prefix;
    joined.set(left, 1);
    joined.set(right, 1 + left.length);
    return sha256(joined);
  }

  // Steps 1 to 5 of section 2.1.3.2; null where the path does not fit the place.
  function climb(leafHash, index, size, path) {
    if (!(index >= 0 && index < size)) { return null; }
    var fn = index, sn = size - 1, r = leafHash;
    for (var i = 0; i < path.length; i += 1) {
      if (sn === 0) { return null; }
      if (fn % 2 === 1 || fn === sn) {
        r = hashNode(1, path[i], r);
        while (fn % 2 === 0 && fn !== 0) { fn = Math.floor(fn / 2); sn = Math.floor(sn / 2); }
      } else {
        r = hashNode(1, r, path[i]);
      }
      fn = Math.floor(fn / 2);
      sn = Math.floor(sn / 2);
    }
    return sn === 0 ? r : null;
  }

  function read(id) { return document.getElementById(id).textContent.trim(); }

  function checkProof() {
    var leaf = new TextEncoder().encode(document.getElementById("proof-leaf").textContent);
    var path = Array.from(document.querySelectorAll("#proof-path code"), function (code) {
      return fromHex(code.textContent.trim());
    });
    var root = climb(hashNode(0, leaf, new Uint8Array(0)), Number(read("proof-index")), Number(read("proof-size")), path);
    var seal = read("proof-seal"), wanted = read("proof-root");
    var named = JSON.parse(new TextDecoder().decode(leaf)).sha256 === read("proof-file");
    if (root && toHex(root) === wanted && named) {
      return [true, "holds: working up from the leaf gives the root " + wanted.slice(0, 16) + "…, the root of " + seal + ". Compare it with the record page, or with your own note of it."];
    }
    var why = named ? "working up from the leaf gives " + (root ? "the root " + toHex(root) : "no root") + ", not the root of " + seal : "the leaf names a different checksum";
    return [false, "fails: " + why + "."];
  }

  function checkFile(bytes) {
    var sum = toHex(sha256(bytes));
    if (sum === read("proof-file")) { return [true, "holds: this file is the entry as it was sealed."]; }
    return [false, "fails: the checksum of this file is " + sum + ": it is not the entry as it was sealed."];
  }

  function makeTries(box) {
    var button = document.createElement("button");
    button.type = "button";
    button.textContent = "Work out the proof";
    var label = document.createElement("label");
    label.textContent = "Compare the entry’s own file from the handover: ";
    var input = document.createElement("input");
    input.type = "file";
    input.accept = ".md";
    label.append(input);
    var said = document.createElement("p");
    said.setAttribute("role", "status");
    function tell(verdict) {
      said.className = verdict[0] ? "holds" : "fails";
      said.textContent = verdict[1];
    }
    button.addEventListener("click", function () {
      try { tell(checkProof()); } catch (error) { tell([false, "fails: " + error.message]); }
    });
    input.addEventListener("change", function () {
      if (!input.files.length) { return; }
      input.files[0].arrayBuffer().then(function (buffer) { tell(checkFile(new Uint8Array(buffer))); });
    });
    box.append(button, label, said);
    box.hidden = false;
  }

  var box = document.querySelector(".proof .tries");
  if (box) { makeTries(box); }
}());

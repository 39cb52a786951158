// Works out an entry's proof again, in the page and without a network: leaf → root (RFC 9162, section 2.1.3.2). The
// arithmetic is in `merkle.js`, which the page loads first.
"use strict";

(function () {
  var toHex = merkle.toHex;

  function readHash(text) {
    // Read off the page, which anybody can change: what is no hash must not become one by being cut.
    if (!/^[0-9a-f]{64}$/.test(text)) { throw new Error("not a checksum: " + text); }
    return merkle.fromHex(text);
  }

  function read(id) { return document.getElementById(id).textContent.trim(); }

  function checkProof() {
    // Not trimmed like the rest: every byte of the leaf was hashed.
    var leaf = new TextEncoder().encode(document.getElementById("proof-leaf").textContent);
    var path = Array.from(document.querySelectorAll("#proof-path code"), function (code) {
      return readHash(code.textContent.trim());
    });
    var root = merkle.climb(merkle.hashLeaf(leaf), Number(read("proof-index")), Number(read("proof-size")), path);
    var seal = read("proof-seal"), wanted = read("proof-root");
    // A sound proof of another file's leaf proves nothing about this one.
    var named = JSON.parse(new TextDecoder().decode(leaf)).sha256 === read("proof-file");
    if (root && toHex(root) === wanted && named) {
      return [true, "holds: working up from the leaf gives the root " + wanted.slice(0, 16) + "…, the root of " + seal + ". Compare it with the record page, or with your own note of it."];
    }
    var why = named ? "working up from the leaf gives " + (root ? "the root " + toHex(root) : "no root") + ", not the root of " + seal : "the leaf names a different checksum";
    return [false, "fails: " + why + "."];
  }

  function checkFile(bytes) {
    var sum = toHex(merkle.sha256(bytes));
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
    var status = document.createElement("p");
    status.setAttribute("role", "status");
    function show(verdict) {
      status.className = verdict[0] ? "holds" : "fails";
      status.textContent = verdict[1];
    }
    button.addEventListener("click", function () {
      // Whatever cannot be worked out is told as a failure, never as nothing.
      try { show(checkProof()); } catch (error) { show([false, "fails: " + error.message]); }
    });
    input.addEventListener("change", function () {
      if (!input.files.length) { return; }
      input.files[0].arrayBuffer().then(function (buffer) { show(checkFile(new Uint8Array(buffer))); });
    });
    box.append(button, label, status);
    // Hidden until now: without a script the button would do nothing.
    box.hidden = false;
  }

  var box = document.querySelector(".proof .tries");
  if (box) { makeTries(box); }
}());

// Works out an entry's proof again, in the page and without a network: leaf → root (RFC 9162, section 2.1.3.2). The
// arithmetic is in `merkle.js`, which the page loads first. The words stand in the page, on the box that is filled here.
"use strict";

(function () {
  var box = document.querySelector(".proof .tries");
  var toHex = merkle.toHex;

  // A text of the page's with what goes into its places, as `%(number)s`.
  function fill(text, places) {
    return text.replace(/%\((\w+)\)s/g, function (place, name) { return places[name]; });
  }

  function readHash(text) {
    // Read off the page, which anybody can change: what is no hash must not become one by being cut.
    if (!/^[0-9a-f]{64}$/.test(text)) { throw new Error(fill(box.dataset.sum, { text: text })); }
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
      return [true, fill(box.dataset.holds, { root: wanted.slice(0, 16), seal: seal })];
    }
    var why = named ? (root ? box.dataset.other : box.dataset.none) : box.dataset.leaf;
    return [false, fill(why, { root: root && toHex(root), seal: seal })];
  }

  function checkFile(bytes) {
    var sum = toHex(merkle.sha256(bytes));
    if (sum === read("proof-file")) { return [true, box.dataset.same]; }
    return [false, fill(box.dataset.changed, { sum: sum })];
  }

  function makeTries() {
    var button = document.createElement("button");
    button.type = "button";
    button.textContent = box.dataset.work;
    var label = document.createElement("label");
    label.textContent = box.dataset.compare + " ";
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
      try { show(checkProof()); } catch (error) { show([false, fill(box.dataset.fails, { reason: error.message })]); }
    });
    input.addEventListener("change", function () {
      if (!input.files.length) { return; }
      input.files[0].arrayBuffer().then(function (buffer) { show(checkFile(new Uint8Array(buffer))); });
    });
    box.append(button, label, status);
    // Hidden until now: without a script the button would do nothing.
    box.hidden = false;
  }

  if (box) { makeTries(); }
}());

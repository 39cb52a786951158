// Searches the log, from a disk as well: what it looks in comes as script files (`search/`), the ones that are needed.
//
// `index.js` has whatever has a name or a number. `words-N.js` has the words that entries and pages say, dealt out by
// their first two letters; `ends-N.js` has the same words by their last two, for a word whose first letter is wrong.
// A word is taken for another if one letter is wrong, missing or too many, or two stand the wrong way round: the four
// slips of F. J. Damerau, "A technique for computer detection and correction of spelling errors", CACM 7 (3), 1964.
// What it says comes with the index, in the language of the pages.
"use strict";

(function () {
  var ROOT = document.currentScript.src.replace(/theme\/search\.js.*$/, "");
  var LONGEST = 200; // letters of a search that are looked at
  var MOST_WORDS = 8;
  var LONGEST_WORD = 40; // as in the index
  var FORGIVEN = 4; // letters from which one may be wrong: of three, another word would be meant too often
  var SHOWN = 50;
  // How much it counts where a word was found: by its name, in the text; whole, as its beginning, with a slip.
  var NAMED = { whole: 12, start: 7, slip: 3 };
  var TOLD = { whole: 4, start: 2, slip: 1 };
  var NUMBER = { whole: 30, part: 20, slip: 10 };
  var SPELT = { "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "ł": "l", "ħ": "h", "ı": "i", "ς": "σ" };

  var input = document.getElementById("search");
  var parts = null;
  var docs = []; // entries first, then pages: the words of the files count them so
  var lines = []; // of each, the words of its name, number and address, a blank around every one
  var numbers = []; // of each part its numbers without their blanks, with the maker in front
  var named = null; // every one of those words once, when first asked for
  var index = null;
  var asked = {}; // files that were asked for
  var files = {}; // files that came, or that are not there
  var failed = false;

  // ── words ──────────────────────────────────────────────────────────────────────────────────────────────────────

  // As `fold_for_search` in buildlog/text.py: a test holds the two against each other.
  function fold(text) {
    var plain = text.normalize("NFKD").toLowerCase().replace(/[\u0300-\u036f]/g, "");
    return plain.replace(/[ßæœøđðþłħıς]/g, function (letter) { return SPELT[letter]; });
  }

  function split(text) {
    return fold(text).match(/[\p{L}\p{N}]+/gu) || [];
  }

  window.searchWords = { fold: fold, split: split };

  function isOneSlip(one, other) {
    if (one === other) { return true; }
    if (Math.abs(one.length - other.length) > 1) { return false; }
    var at = 0;
    while (at < one.length && one[at] === other[at]) { at += 1; }
    var a = one.slice(at), b = other.slice(at);
    return a.slice(1) === b.slice(1) || a.slice(1) === b || a === b.slice(1) ||
      (a[0] === b[1] && a[1] === b[0] && a.slice(2) === b.slice(2));
  }

  // ── the files ──────────────────────────────────────────────────────────────────────────────────────────────────

  function load(name) {
    if (asked[name]) { return; }
    asked[name] = true;
    var script = document.createElement("script");
    script.src = ROOT + "search/" + name + ".js";
    script.addEventListener("error", function () {
      failed = true;
      files[name] = name.indexOf("words") ? [] : new Map();
      search();
    });
    document.head.appendChild(script);
  }

  window.takeSearch = function (kind, number, data) {
    if (kind === "index") {
      index = data;
      takeNames();
    } else {
      files[kind + "-" + number] = kind === "ends" ? data.split(" ") : new Map(data.split(";").map(function (row) {
        var at = row.indexOf(" ");
        return [row.slice(0, at), row.slice(at + 1)];
      }));
    }
    search();
  };

  function takeNames() {
    var all = [], written = [];
    index.groups.forEach(function (group) {
      group[2].forEach(function (row) {
        // A key that is the name in small letters with dashes is left out.
        var kind = group[0], key = row[0] === 0 ? split(row[1]).join("-") : row[0], more = row[2] || "";
        var day = kind === "Entry" ? more || key.slice(0, 10) : "";
        docs.push({ kind: kind, text: row[1], day: day, more: day ? "" : more, href: group[1].replace("*", encodeURI(key)) });
        // What stands fourth is sought and not shown.
        all.push(key + " " + row[1] + " " + more + " " + (row[3] || ""));
        written.push(kind === "Part" ? more : "");
      });
    });
    // All at once, which takes a tenth of the time.
    lines = fold(all.join("\n")).replace(/[^\p{L}\p{N}\n]+/gu, " ").split("\n").map(function (line) { return " " + line + " "; });
    numbers = fold(written.join("\n")).replace(/[^\p{L}\p{N}\n]+/gu, "").split("\n");
  }

  function listNamed() {
    named = named || Array.from(new Set(lines.join("").split(" ")));
    return named;
  }

  // What is called by a word, or by one that begins with it.
  function addNamed(found, sought, points) {
    lines.forEach(function (line, number) {
      if (line.includes(sought)) { add(found, [number], points); }
    });
  }

  function fileOf(kind, word) {
    var letters = Array.from(word);
    var two = kind === "words" ? letters.slice(0, 2) : letters.slice(-2);
    return kind + "-" + (two[0].codePointAt(0) * 31 + two[1].codePointAt(0)) % index.files;
  }

  // ── one search ─────────────────────────────────────────────────────────────────────────────────────────────────

  // The files that a search waits for are gathered: it goes on once all of them are there.
  function Search(words) {
    this.words = words;
    this.missing = [];
    this.slips = false;
  }

  Search.prototype.need = function (kind, word) {
    var name = fileOf(kind, word);
    if (!files[name]) { this.missing.push(name); }
    return files[name];
  };

  // What each thing counts by one word of the search.
  Search.prototype.find = function (word, last) {
    var found = new Map();
    var told = word.length > 1 && this.need("words", word) || new Map();
    addNamed(found, " " + word + " ", NAMED.whole);
    // A piece of a number may stand anywhere in it.
    addNamed(found, word.length > 1 && /\d/.test(word) ? word : " " + word, NAMED.start);
    if (word.length > 1) {
      told.forEach(function (gaps, name) {
        if (name.startsWith(word)) { add(found, count(gaps), name === word ? TOLD.whole : TOLD.start); }
      });
    }
    return found.size || word.length < FORGIVEN || this.missing.length ? found : this.forgive(word, told, last);
  };

  // The same with one slip: whole words, and of the word that is being typed the beginnings too.
  Search.prototype.forgive = function (word, told, last) {
    var found = new Map();
    function fits(name) {
      if (isOneSlip(word, name)) { return true; }
      if (!last || name.length <= word.length) { return false; }
      return isOneSlip(word, name.slice(0, word.length)) || isOneSlip(word, name.slice(0, word.length + 1)) ||
        isOneSlip(word, name.slice(0, word.length - 1));
    }
    listNamed().filter(fits).forEach(function (name) { addNamed(found, " " + name + " ", NAMED.slip); });
    told.forEach(function (gaps, name) { if (fits(name)) { add(found, count(gaps), TOLD.slip); } });
    if (!found.size) {
      // One of its first two letters may be the wrong one: then its last two are right.
      (this.need("ends", word) || []).forEach(function (name) {
        if (!isOneSlip(word, name)) { return; }
        var others = this.need("words", name);
        if (others && others.has(name)) { add(found, count(others.get(name)), TOLD.slip); }
      }, this);
    }
    this.slips = this.slips || found.size > 0;
    return found;
  };

  // A part's number, however it is spaced here and there.
  Search.prototype.findNumber = function () {
    var wanted = this.words.join(""), found = new Map();
    if (wanted.length < 3 || !/\d/.test(wanted)) { return found; }
    numbers.forEach(function (joined, number) {
      if (joined.includes(wanted)) { found.set(number, joined.endsWith(wanted) ? NUMBER.whole : NUMBER.part); }
    });
    if (!found.size && wanted.length > FORGIVEN) {
      numbers.forEach(function (joined, number) {
        for (var at = 0; at <= joined.length - wanted.length + 1; at += 1) {
          if (isOneSlip(wanted, joined.slice(at, at + wanted.length))) { found.set(number, NUMBER.slip); return; }
        }
      });
      this.slips = this.slips || found.size > 0;
    }
    return found;
  };

  Search.prototype.run = function () {
    var all = null;
    // A letter alone says nothing beside others: it is an article, or a piece of a number.
    var words = this.words.length > 1 ? this.words.filter(function (word) { return word.length > 1; }) : this.words;
    words.forEach(function (word, number) {
      var found = this.find(word, number === words.length - 1);
      if (all === null) { all = found; return; }
      all.forEach(function (points, doc) {
        if (found.has(doc)) { all.set(doc, points + found.get(doc)); } else { all.delete(doc); }
      });
    }, this);
    all = all || new Map();
    // Only where nothing else is found may a number have a slip.
    this.findNumber().forEach(function (points, doc) { all.set(doc, (all.get(doc) || 0) + points); });
    return Array.from(all).sort(function (one, other) { return other[1] - one[1] || compare(one[0], other[0]); });
  };

  // The latest entry first; the others in the order of the index.
  function compare(one, other) {
    return docs[one].day && docs[other].day ? other - one : one - other;
  }

  function add(found, numbers, points) {
    numbers.forEach(function (number) {
      if (!(found.get(number) >= points)) { found.set(number, points); }
    });
  }

  // Each number is told by its distance from the one before.
  function count(gaps) {
    var number = 0;
    return gaps.split(",").map(function (gap) { number += Number(gap); return number; });
  }

  // ── what is shown ──────────────────────────────────────────────────────────────────────────────────────────────

  function makeParts() {
    var box = document.createElement("section");
    box.className = "found";
    box.setAttribute("aria-label", index.words.results);
    var status = document.createElement("p");
    status.className = "status";
    // How many there are is read out: whoever cannot see the list would not notice that it changed.
    status.setAttribute("role", "status");
    var list = document.createElement("ol");
    box.append(status, list);
    input.closest(".search").appendChild(box);
    return { box: box, status: status, list: list };
  }

  function say(words) {
    // Said again, it would be read out again.
    if (parts.status.textContent !== words) { parts.status.textContent = words; }
  }

  function search() {
    if (!index) { load("index"); return; }
    var words = Array.from(new Set(split(input.value.slice(0, LONGEST)))).slice(0, MOST_WORDS).map(function (word) {
      return word.slice(0, LONGEST_WORD);
    });
    parts = parts || makeParts();
    if (words.join("").length < 2) {
      parts.list.replaceChildren();
      parts.box.hidden = !input.value.trim();
      say(parts.box.hidden ? "" : index.words.least);
      return;
    }
    var one = new Search(words);
    var found = one.run();
    if (one.missing.length) {
      // What was found before stays until the rest is there: that takes no longer than a keystroke.
      parts.box.setAttribute("aria-busy", "true");
      one.missing.forEach(load);
      return;
    }
    parts.box.hidden = false;
    parts.box.setAttribute("aria-busy", "false");
    parts.list.replaceChildren.apply(parts.list, found.slice(0, SHOWN).map(function (pair) { return show(docs[pair[0]]); }));
    say(tell(found.length, one.slips));
  }

  function fill(text, number) {
    return text.replace("%(number)s", number);
  }

  function tell(number, slips) {
    var words = index.words;
    var told = [fill(number ? slips ? words.slips : words.found : words.nothing, number)];
    if (number > SHOWN) { told.push(fill(words.first, SHOWN)); }
    if (input.value.length > LONGEST) { told.push(fill(words.letters, LONGEST)); }
    return told.join("; ") + "." + (failed ? " " + words.missing : "");
  }

  function show(doc) {
    var item = document.createElement("li");
    var link = document.createElement("a");
    link.href = ROOT + doc.href;
    link.textContent = doc.text;
    if (index.language && doc.kind !== "Page") { link.lang = index.language; }
    var note = document.createElement("span");
    note.className = "note";
    note.textContent = [index.kinds[doc.kind], doc.day ? writeDay(doc.day) : doc.more].filter(Boolean).join(", ");
    item.append(link, " ", note);
    return item;
  }

  function writeDay(day) {
    var language = index.language || document.documentElement.lang;
    return new Intl.DateTimeFormat(language, { dateStyle: "long", timeZone: "UTC" }).format(new Date(day));
  }

  input.addEventListener("input", search);
  input.addEventListener("keydown", function (event) {
    var first = parts && parts.list.querySelector("a");
    if (event.key === "Escape") {
      input.value = "";
      search();
    } else if (first && (event.key === "Enter" || event.key === "ArrowDown")) {
      event.preventDefault();
      first.focus();
    }
  });
  search();
}());

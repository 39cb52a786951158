// Follows every save: when the preview says that something changed, this page is asked for again, and only what is other
// than before is exchanged. So the place on the page stays, a fold stays open, and so does a photo.
//
// What was served is kept beside what is shown, since other scripts change the page: old and new are compared as they
// were served, and what differs is changed where it stands now.
"use strict";

(function () {
  var me = document.currentScript;
  var version = me.dataset.version;
  var served = document.documentElement.cloneNode(true);
  var shown = new WeakMap(); // from a node as served to the node on the page
  var source = null;
  var busy = false;
  var again = false;
  var LINKS = ".photos figure > a, .story-photo > a";

  pair(served, document.documentElement);

  function pair(one, other) {
    shown.set(one, other);
    for (var a = one.firstChild, b = other.firstChild; a && b; a = a.nextSibling, b = b.nextSibling) { pair(a, b); }
  }

  // The new tree stands for the same nodes on the page as the old one, which is equal to it.
  function carry(old, fresh) {
    shown.set(fresh, shown.get(old));
    for (var a = old.firstChild, b = fresh.firstChild; a && b; a = a.nextSibling, b = b.nextSibling) { carry(a, b); }
  }

  function change(old, fresh) {
    var live = shown.get(old);
    if (old.isEqualNode(fresh)) { carry(old, fresh); return; }
    shown.set(fresh, live);
    if (fresh.nodeType !== Node.ELEMENT_NODE) { live.nodeValue = fresh.nodeValue; return; }
    fresh.getAttributeNames().forEach(function (name) {
      if (old.getAttribute(name) !== fresh.getAttribute(name)) { live.setAttribute(name, fresh.getAttribute(name)); }
    });
    old.getAttributeNames().forEach(function (name) {
      if (!fresh.hasAttribute(name)) { live.removeAttribute(name); }
    });
    changeChildren(old, fresh, live);
  }

  function changeChildren(old, fresh, live) {
    var before = Array.from(old.childNodes), after = Array.from(fresh.childNodes);
    var start = 0, rest = 0;
    var most = Math.min(before.length, after.length);
    while (start < most && before[start].isEqualNode(after[start])) { carry(before[start], after[start]); start += 1; }
    while (rest < most - start && before[before.length - 1 - rest].isEqualNode(after[after.length - 1 - rest])) {
      carry(before[before.length - 1 - rest], after[after.length - 1 - rest]);
      rest += 1;
    }
    var next = rest ? shown.get(before[before.length - rest]) : null;
    before = before.slice(start, before.length - rest);
    after = after.slice(start, after.length - rest);
    after.forEach(function (node, number) {
      var twin = before[number];
      if (twin && twin.nodeName === node.nodeName) { change(twin, node); return; }
      insert(node, live, twin ? shown.get(twin) : next);
      if (twin) { remove(twin); }
    });
    before.slice(after.length).forEach(remove);
  }

  function insert(node, parent, at) {
    var made = document.importNode(node, true);
    // What stood there may have been moved by a script of the page: then it goes to the end.
    parent.insertBefore(made, at && at.parentNode === parent ? at : null);
    pair(node, made);
  }

  function remove(node) {
    var live = shown.get(node);
    if (live && live.parentNode) { live.parentNode.removeChild(live); }
  }

  // Scripts of the page have taken up its photos when it was opened: with more or fewer of them it is opened anew, and
  // the browser keeps the place and, in its history, which photo is open.
  function fits(fresh) {
    return served.querySelectorAll(LINKS).length === fresh.querySelectorAll(LINKS).length &&
      list(served, "script[src], link[rel=stylesheet]") === list(fresh, "script[src], link[rel=stylesheet]");
  }

  function list(tree, which) {
    return Array.from(tree.querySelectorAll(which), function (one) {
      return one.getAttribute("src") || one.getAttribute("href");
    }).join("\n");
  }

  function show(text) {
    var fresh = new DOMParser().parseFromString(text, "text/html").documentElement;
    version = fresh.querySelector("script[data-version]").dataset.version;
    if (!fits(fresh)) { location.reload(); return; }
    change(served, fresh);
    served = fresh;
    document.documentElement.dispatchEvent(new CustomEvent("preview", { detail: version }));
  }

  function ask() {
    if (busy) { again = true; return; }
    busy = true;
    again = false;
    fetch(location.pathname, { cache: "no-store" })
      .then(function (answer) { return answer.text(); })
      .then(show)
      .catch(function () { /* the preview has ended, which is told below */ })
      .finally(function () {
        busy = false;
        if (again) { ask(); }
      });
  }

  // One connection for each page that is looked at: a browser holds only six to one host.
  function listen() {
    if (source || document.hidden) { return; }
    source = new EventSource("/preview/changes?since=" + version);
    source.onmessage = function (event) {
      if (event.data !== version) { ask(); }
    };
    source.onopen = function () { tell(""); };
    source.onerror = function () { tell("The preview has ended: this page no longer follows what you save."); };
  }

  function tell(words) {
    var told = document.getElementById("preview-ended");
    if (told) { told.remove(); }
    if (!words) { return; }
    told = document.body.appendChild(document.createElement("p"));
    told.id = "preview-ended";
    told.setAttribute("role", "status");
    told.textContent = words;
  }

  document.addEventListener("visibilitychange", function () {
    if (document.hidden && source) { source.close(); source = null; }
    listen();
  });
  window.addEventListener("pagehide", function () {
    if (source) { source.close(); source = null; }
  });
  window.addEventListener("pageshow", listen);
  listen();
}());

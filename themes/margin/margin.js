// What the pages do beyond being read: search the log, show one system of the timeline or its newest entry first, open
// the part that a link leads to, and open every fold before printing. System and order stand in the address
// (`timeline.html?system=fuel&order=newest`), so that they are there again after a reload, on the way back, and for whom
// the address is sent to. It has no words of its own: they stand in the page, in `data-` attributes.
"use strict";

(function () {
  // A text of the page's with what goes into its places, as `%(number)s`.
  function fill(text, places) {
    return text.replace(/%\((\w+)\)s/g, function (place, name) { return places[name]; });
  }

  function showOnly(key, buttons, status, words) {
    var entries = document.querySelectorAll("article[data-systems]");
    var shown = 0;
    entries.forEach(function (entry) {
      entry.hidden = key !== "" && entry.dataset.systems.split(" ").indexOf(key) < 0;
      shown += entry.hidden ? 0 : 1;
    });
    document.querySelectorAll("section.month").forEach(function (month) {
      month.hidden = !month.querySelector("article:not([hidden])");
    });
    buttons.forEach(function (button) {
      button.setAttribute("aria-pressed", String(button.value === key));
    });
    status.textContent = key === "" ? "" : fill(words, { shown: shown, number: entries.length });
  }

  function makeFilter(nav) {
    var status = document.createElement("span");
    status.className = "status";
    // How many are left is read out too: whoever cannot see the page would not notice that it changed.
    status.setAttribute("role", "status");
    // Without this script the links lead to the pages of the systems. Here they become buttons, as they change what is
    // shown and lead nowhere.
    var group = document.createElement("div");
    group.className = "jump";
    group.setAttribute("role", "group");
    group.setAttribute("aria-label", nav.dataset.filter);
    var list = nav.querySelector("ul");
    var choices = [["", nav.dataset.all]];
    list.querySelectorAll("a").forEach(function (link) {
      choices.push([link.dataset.system, link.textContent]);
    });
    list.textContent = "";
    var buttons = choices.map(function (choice) {
      var button = document.createElement("button");
      button.type = "button";
      button.value = choice[0];
      button.textContent = choice[1];
      list.appendChild(document.createElement("li")).appendChild(button);
      return button;
    });
    function showWanted() {
      var wanted = new URLSearchParams(location.search).get("system") || "";
      var known = buttons.some(function (button) { return button.value === wanted; });
      // The address may be old, or typed: a system that is not there shows all, not nothing.
      showOnly(known ? wanted : "", buttons, status, nav.dataset.shown);
    }
    // What a link leads to is shown: the choice gives way, and the address says so.
    function showTarget() {
      var target = findTarget();
      if (!target || !target.closest("[hidden]")) { return; }
      history.replaceState(null, "", addressOf("", isNewestFirst()) + location.hash);
      showWanted();
      target.scrollIntoView();
    }
    buttons.forEach(function (button) {
      button.addEventListener("click", function () {
        // A step of its own, so that the way back undoes a choice before it leaves the page.
        history.pushState(null, "", addressOf(button.value, isNewestFirst()));
        showWanted();
      });
    });
    nav.replaceWith(group);
    group.append(list, status);
    window.addEventListener("popstate", showWanted);
    window.addEventListener("hashchange", showTarget);
    showWanted();
    showTarget();
  }

  // Without what the address led to on the page, which the choice may have hidden.
  function addressOf(system, newest) {
    var said = [system && "system=" + encodeURIComponent(system), newest && "order=newest"].filter(Boolean);
    return location.pathname + (said.length ? "?" + said.join("&") : "");
  }

  function isNewestFirst() {
    return new URLSearchParams(location.search).get("order") === "newest";
  }

  // Neighbours in a list, put the other way round where they stand.
  function turnRound(rows) {
    if (rows.length < 2) { return; }
    var mark = document.createComment("");
    rows[0].before(mark);
    mark.after.apply(mark, rows.reverse());
    mark.remove();
  }

  function makeOrder(room) {
    var button = document.createElement("button");
    button.type = "button";
    button.textContent = room.dataset.turn;
    var turned = false;
    function showOrder() {
      var newest = isNewestFirst();
      button.setAttribute("aria-pressed", String(newest));
      if (newest === turned) { return; }
      turned = newest;
      var months = Array.from(document.querySelectorAll("section.month"));
      months.forEach(function (month) { turnRound(Array.from(month.querySelectorAll("article"))); });
      turnRound(months);
      document.querySelectorAll(".periods, [data-months]").forEach(function (list) {
        turnRound(Array.from(list.children));
      });
      // From page to page it stays as it was chosen.
      document.querySelectorAll(".periods a, [data-turns] a").forEach(function (link) {
        link.search = newest && /\/timeline(\.html$|\/)/.test(link.pathname) ? "?order=newest" : "";
      });
    }
    button.addEventListener("click", function () {
      var system = new URLSearchParams(location.search).get("system") || "";
      history.pushState(null, "", addressOf(system, !turned));
      showOrder();
    });
    room.classList.add("jump");
    room.appendChild(button);
    window.addEventListener("popstate", showOrder);
    showOrder();
  }

  function findTarget() {
    try {
      return location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    } catch (error) {
      return null; // what is no address of ours leads nowhere
    }
  }

  function openTarget() {
    var target = findTarget();
    // Parts fold their histories; a link to a part means its history.
    var fold = target && target.matches("h4") && target.parentNode.querySelector("details");
    if (fold) { fold.open = true; }
  }

  // Made by script, as it needs one. What it looks in is loaded once somebody goes there, and never before.
  function makeSearch(band) {
    var root = document.currentScript.src.replace(/theme\/margin\.js.*$/, "");
    var box = document.createElement("div");
    box.className = "search";
    box.setAttribute("role", "search");
    var label = document.createElement("label");
    label.htmlFor = "search";
    label.textContent = document.currentScript.dataset.search;
    var input = document.createElement("input");
    input.id = "search";
    input.type = "search";
    input.autocomplete = "off";
    input.spellcheck = false;
    input.addEventListener("focus", function () {
      var script = document.createElement("script");
      script.src = root + "theme/search.js";
      document.head.appendChild(script);
    }, { once: true });
    box.append(label, input);
    band.insertBefore(box, band.querySelector("nav"));
  }

  // A browser prints a closed fold closed, and nobody can open it on paper. Afterwards only those are closed again.
  var opened = [];
  window.addEventListener("beforeprint", function () {
    opened = Array.from(document.querySelectorAll("details:not([open])"));
    opened.forEach(function (fold) { fold.open = true; });
  });
  window.addEventListener("afterprint", function () {
    opened.forEach(function (fold) { fold.open = false; });
  });

  var band = document.querySelector(".top > .wide");
  if (band) { makeSearch(band); }
  // Before the choice of a system, which brings into view what the address leads to.
  var room = document.querySelector("[data-turn]");
  if (room) { makeOrder(room); }
  var nav = document.querySelector("nav[data-filter]");
  if (nav) { makeFilter(nav); }
  window.addEventListener("hashchange", openTarget);
  openTarget();
}());

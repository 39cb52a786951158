// What the pages do beyond being read: show one system of the timeline, open the part that a link leads to, and open
// every fold before printing.
"use strict";

(function () {
  function showOnly(key, buttons, said) {
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
    said.textContent = key === "" ? "" : shown + " of " + entries.length + " entries";
  }

  function makeFilter(nav) {
    var said = document.createElement("span");
    said.className = "said";
    said.setAttribute("role", "status");
    var group = document.createElement("div");
    group.className = "jump";
    group.setAttribute("role", "group");
    group.setAttribute("aria-label", "Show one system");
    var list = nav.querySelector("ul");
    var choices = [["", "All systems"]];
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
    buttons.forEach(function (button) {
      button.addEventListener("click", function () {
        showOnly(button.value, buttons, said);
      });
    });
    nav.replaceWith(group);
    group.append(list, said);
    showOnly("", buttons, said);
  }

  function openTarget() {
    var target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    var fold = target && target.matches("h4") && target.parentNode.querySelector("details");
    if (fold) { fold.open = true; }
  }

  var opened = [];
  window.addEventListener("beforeprint", function () {
    opened = Array.from(document.querySelectorAll("details:not([open])"));
    opened.forEach(function (fold) { fold.open = true; });
  });
  window.addEventListener("afterprint", function () {
    opened.forEach(function (fold) { fold.open = false; });
  });

  var nav = document.querySelector("nav[data-filter]");
  if (nav) { makeFilter(nav); }
  window.addEventListener("hashchange", openTarget);
  openTarget();
}());

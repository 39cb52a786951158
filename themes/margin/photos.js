// A photo opens large over its page: its words below it, the one before and after at the arrow keys. Without this
// script, or in a browser without dialogs, the same link opens the picture by itself.
// Which photo is open stands in the history, so that going back closes it and stays on the page.
// It has no words of its own: they stand on its element in the page.
"use strict";

(function () {
  var words = document.currentScript.dataset;
  var links = Array.from(document.querySelectorAll(".photos figure > a, .story-photo > a"));
  var shown = 0;
  var parts = null;
  // Going back takes a moment. A second press of Escape meanwhile would go back twice, and leave the page.
  var leaving = false;

  function add(parent, kind, name) {
    var element = document.createElement(kind);
    element.className = name;
    parent.appendChild(element);
    return element;
  }

  function addButton(parent, text, act) {
    var button = add(parent, "button", "");
    button.type = "button";
    button.textContent = text;
    button.addEventListener("click", act);
    return button;
  }

  // What a screen reader says by itself when it changes.
  function addSpoken(parent, name) {
    var spoken = add(parent, "p", name);
    spoken.setAttribute("role", "status");
    return spoken;
  }

  function step(by) {
    return function () {
      // In place of the one before: however many were looked at, one step back is the page again.
      history.replaceState({ photo: (shown + by + links.length) % links.length }, "");
      showWanted();
    };
  }

  function makeParts() {
    var dialog = add(document.body, "dialog", "large");
    dialog.setAttribute("aria-label", words.photo);
    var sheet = add(dialog, "div", "sheet");
    var caption = addSpoken(dialog, "caption");
    var buttons = add(dialog, "div", "buttons");
    var before = addButton(buttons, words.previous, step(-1));
    var count = addSpoken(buttons, "count");
    var after = addButton(buttons, words.next, step(1));
    before.hidden = after.hidden = count.hidden = links.length < 2;
    // The way out has the focus, as it is what every visitor needs next.
    addButton(buttons, words.close, leave).autofocus = true;
    dialog.addEventListener("keydown", turn);
    dialog.addEventListener("cancel", function (event) {
      // Escape would close the view and leave its step in the history.
      event.preventDefault();
      leave();
    });
    dialog.addEventListener("close", function () {
      if (dialog.open) { return; }  // the next photo was opened before this was told
      // A keyboard goes on from the photo that was opened, not from the top of the page.
      parts.opener.focus();
      if (findWanted() !== null) { leave(); }
    });
    return { dialog: dialog, sheet: sheet, caption: caption, count: count, opener: null };
  }

  function turn(event) {
    var act = { ArrowLeft: step(-1), ArrowRight: step(1) }[event.key];
    // With a modifier the arrow is the browser's own: Alt and left go back.
    if (act && !(event.altKey || event.ctrlKey || event.metaKey || event.shiftKey)) {
      event.preventDefault();
      act();
    }
  }

  // A new picture for each photo: an old one would stand over the new words until the new one has come.
  function show(number) {
    var small = links[number].querySelector("img");
    var caption = links[number].parentNode.querySelector("figcaption, .caption");
    var large = document.createElement("img");
    large.alt = small.alt;
    // The shape is known before the picture comes.
    large.width = small.getAttribute("width");
    large.height = small.getAttribute("height");
    large.src = links[number].href;
    parts.sheet.replaceChildren(large);
    parts.caption.textContent = caption ? caption.textContent : "";
    parts.count.textContent = words.count.replace("%(number)s", number + 1).replace("%(all)s", links.length);
    shown = number;
  }

  // Closing is going back: the view closes when the history is there.
  function leave() {
    if (!leaving) {
      leaving = true;
      history.back();
    }
  }

  // The number of the photo that the history wants open; null for none.
  function findWanted() {
    var photo = history.state && history.state.photo;
    return links[photo] ? photo : null;
  }

  function showWanted() {
    var wanted = findWanted();
    leaving = false;
    if (wanted === null) {
      if (parts) { parts.dialog.close(); }
      return;
    }
    // Made when it is first wanted: most pages are read without it.
    parts = parts || makeParts();
    show(wanted);
    if (!parts.dialog.open) {
      parts.opener = links[wanted];
      parts.dialog.showModal();
    }
  }

  if (!window.HTMLDialogElement) { return; }
  links.forEach(function (link, number) {
    link.addEventListener("click", function (event) {
      // Whoever asks for a new tab or window gets one.
      if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
      event.preventDefault();
      history.pushState({ photo: number }, "");
      showWanted();
    });
  });
  window.addEventListener("popstate", showWanted);
  // Open again after a reload, or on the way back from another page.
  showWanted();
}());

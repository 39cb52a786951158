// Says the code, from the link that the phone's camera read or as it is typed, and goes on to the site.
"use strict";

(function () {
  var typed = document.getElementById("code");
  var told = document.querySelector("[role=status]");

  function enter() {
    fetch("/preview/enter", { method: "POST", body: typed.value }).then(function (answer) {
      if (answer.ok) { location.replace("/"); return null; }
      return answer.text().then(function (words) { told.textContent = words; });
    }).catch(function () { told.textContent = "The preview does not answer."; });
  }

  document.querySelector("button").addEventListener("click", enter);
  typed.addEventListener("keydown", function (event) {
    if (event.key === "Enter") { enter(); }
  });
  if (location.hash.length > 1) {
    typed.value = location.hash.slice(1);
    history.replaceState(null, "", location.pathname);
    enter();
  }
}());

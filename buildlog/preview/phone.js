// Sends photos into today's entry, one after the other, and says of each what became of it.
"use strict";

(function () {
  var box = document.body.appendChild(document.createElement("div"));
  box.id = "preview-send";
  var label = box.appendChild(document.createElement("label"));
  label.textContent = "Send photos into today\u2019s entry ";
  var input = label.appendChild(document.createElement("input"));
  input.type = "file";
  input.multiple = true;
  input.accept = ".jpg,.jpeg,.png,.webp,.heic,.heif,image/*";
  var told = box.appendChild(document.createElement("ul"));
  told.setAttribute("role", "status");

  function send(files) {
    if (!files.length) { input.disabled = false; input.value = ""; return; }
    var item = told.appendChild(document.createElement("li"));
    item.textContent = files[0].name + ": sending";
    fetch("/preview/photo?name=" + encodeURIComponent(files[0].name), { method: "POST", body: files[0] })
      .then(function (answer) { return answer.text(); })
      .catch(function () { return "The preview does not answer."; })
      .then(function (words) {
        item.textContent = files[0].name + ": " + words;
        send(files.slice(1));
      });
  }

  input.addEventListener("change", function () {
    input.disabled = true;
    told.textContent = "";
    send(Array.from(input.files));
  });
}());

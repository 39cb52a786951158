"use strict"; document.querySelector(".waiting").classList.remove("waiting");

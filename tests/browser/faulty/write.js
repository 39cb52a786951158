"use strict"; document.querySelector("main").textContent = "Written by a script";

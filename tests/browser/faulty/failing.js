"use strict"; throw new Error("on purpose");

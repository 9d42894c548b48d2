// Says that a page is drawn, where no other script of it does.
"use strict";

document.documentElement.dataset.drawn = "true";

// The index keeps its filter in the address: #handler=AHU-1&severity=high. Plain anchors stay plain anchors.
"use strict";

const Address = {
  read() {
    const hash = location.hash.slice(1);
    return hash.includes("=") ? Object.fromEntries(new URLSearchParams(hash)) : {};
  },

  write(state) {
    const kept = Object.entries(state).filter(([, value]) => value);
    const hash = new URLSearchParams(kept).toString();
    history.replaceState(null, "", hash ? `#${hash}` : location.pathname + location.search);
    this.tell();
  },

  listeners: [],

  tell() {
    const state = this.read();
    for (const listener of this.listeners) listener(state);
  },
};

window.addEventListener("hashchange", () => {
  if (location.hash.includes("=") || location.hash === "") Address.tell();
});

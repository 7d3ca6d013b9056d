// Light or dark, before anything is painted: as chosen here, or else as the system has it.
(() => {
  "use strict";
  const key = "bodyshop-light";
  let chosen = null;
  try {
    chosen = localStorage.getItem(key);
  } catch {
    chosen = null;
  }
  const system = matchMedia("(prefers-color-scheme: dark)");
  const put = () => {
    document.documentElement.dataset.light = chosen || (system.matches ? "dark" : "light");
    document.documentElement.dispatchEvent(new Event("lightchange"));
  };
  system.addEventListener("change", put);
  put();
  globalThis.turnLight = () => {
    chosen = document.documentElement.dataset.light === "dark" ? "light" : "dark";
    try {
      localStorage.setItem(key, chosen);
    } catch {
      // a browser that keeps nothing: it holds for this page
    }
    put();
  };
})();

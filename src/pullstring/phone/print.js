// Day or night print, set before anything is drawn so that nothing flashes in a dark loft. A plain script, no module:
// modules wait for the page. What was chosen by the button is remembered; until then the phone's own setting counts.
(() => {
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const chosen = () => {
    try {
      return JSON.parse(localStorage.getItem("print"));
    } catch {
      return null;
    }
  };
  const set = () => {
    document.documentElement.dataset.print = chosen() ?? (dark.matches ? "night" : "day");
  };
  set();
  dark.addEventListener("change", set);
})();

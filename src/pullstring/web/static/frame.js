// Night print, and a key that leads to the search.
const button = document.getElementById("night");
button.addEventListener("click", () => {
  const night = document.documentElement.dataset.print !== "night";
  if (night) document.documentElement.dataset.print = "night";
  else delete document.documentElement.dataset.print;
  button.setAttribute("aria-pressed", String(night));
  document.cookie = `print=${night ? "night" : "day"};path=/;max-age=31536000;samesite=strict`;
});

document.addEventListener("keydown", (press) => {
  const typing = /^(INPUT|TEXTAREA|SELECT)$/.test(document.activeElement?.tagName || "");
  if (press.key === "/" && !typing && !press.ctrlKey && !press.metaKey && !press.altKey) {
    press.preventDefault();
    document.getElementById("q").focus();
  }
});

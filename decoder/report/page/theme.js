// Light and dark. What the system says holds until a person presses the switch; paper is light.

const systemDark = matchMedia("(prefers-color-scheme: dark)");
let chosenTheme = null;
let onPaper = false;
const themeListeners = [];

function themeNow() {
  if (onPaper) return "light";
  return chosenTheme || (systemDark.matches ? "dark" : "light");
}

function applyTheme() {
  document.documentElement.dataset.theme = themeNow();
  for (const listener of themeListeners) listener();
}

function colour(name) {
  return getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
}

function themeSwitch() {
  const button = make("button", {type: "button", class: "theme-switch"});
  const say = () => {
    button.textContent = themeNow() === "dark" ? "Light page" : "Dark page";
  };
  button.addEventListener("click", () => {
    chosenTheme = themeNow() === "dark" ? "light" : "dark";
    applyTheme();
  });
  themeListeners.push(say);
  say();
  return button;
}

systemDark.addEventListener("change", applyTheme);
document.documentElement.dataset.theme = themeNow();

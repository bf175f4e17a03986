// Elements made of words: `make("a", { href: "/" }, "Today")`. Words never become HTML.
export function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (typeof value === "boolean") element.toggleAttribute(key, value);
    else if (value !== undefined && value !== null) element.setAttribute(key, value);
  }
  element.append(...children.flat().filter(Boolean));
  return element;
}

export const unseen = (words) => make("span", { class: "unseen" }, words);
export const message = (...words) => make("p", { class: `message` }, ...words);
export const link = (href, words, ...more) => make("a", { href, class: "button" }, words, ...more);

// Show a page: its title, its style sheets beside those of every page, and what stands in it.
export function show(title, styles, ...children) {
  for (const sheet of document.querySelectorAll("link[data-style]")) sheet.media = styles.includes(sheet.dataset.style) ? "all" : "not all";
  document.title = `${title} – coachbook`;
  document.getElementById("main").replaceChildren(...children.flat().filter(Boolean));
}

// The day of this phone, as a form sends it.
export function today(now = new Date()) {
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
}

export function dayWords(iso, options = { weekday: "long", day: "numeric", month: "long" }) {
  return new Date(`${iso}T12:00`).toLocaleDateString("en-GB", options);
}

// On a wide screen a row of the list opens its stack with the list beside it; the server draws both. On a phone, and
// without this file, the rows lead to the stack alone. A real address each: Back, titles and bookmarks need no more.

const wide = matchMedia("(min-width: 1000px)");

function lead() {
  for (const link of document.querySelectorAll("[data-beside] a.row")) {
    link.search = wide.matches ? new URLSearchParams([...new URLSearchParams(location.search), ["beside", "on"]]) : "";
  }
}

lead();
wide.addEventListener("change", lead);
const here = document.querySelector(".split [aria-current]"); // the list scrolls by itself, the page stays
if (here && wide.matches) here.closest(".list").scrollTop = here.offsetTop - here.closest(".list").offsetTop - 80;

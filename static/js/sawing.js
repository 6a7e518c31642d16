// Ticks on the sawing list stay on this phone until what is to be sawn is another; without it they last as the page does.
const NAME = "drystack-sawn";
const boxes = [...document.querySelectorAll("[data-saw]")];
try {
  const kept = JSON.parse(localStorage.getItem(NAME)) || [];
  for (const box of boxes) box.checked = kept.includes(box.dataset.saw);
  document.addEventListener("change", () => {
    localStorage.setItem(NAME, JSON.stringify(boxes.filter((box) => box.checked).map((box) => box.dataset.saw)));
  });
} catch {} // a browser that keeps nothing

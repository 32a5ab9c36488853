// The folded list of areas closes on Escape and on a tap beside it. Without script its own summary closes it.

export function foldAway() {
  const folded = document.querySelector("details[data-fold]");
  if (!folded) return;
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !folded.open) return;
    folded.open = false;
    folded.querySelector("summary").focus();
  });
  document.addEventListener("click", (event) => {
    if (folded.open && !folded.contains(event.target)) folded.open = false;
  });
}

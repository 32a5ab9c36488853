// A print button is of use only where a script can print: it is hidden in the page and shown here.

export function offerPrinting() {
  for (const button of document.querySelectorAll("button[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }
}

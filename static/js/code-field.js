// The code field that every page has: "/" goes to it, and a scanner that types anywhere is led to it.

const field = () => document.querySelector("input[data-code-field]");

/** "/" outside a field puts the cursor into the code field. */
export function focusByKey() {
  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || types(event.target)) return;
    const code = field();
    if (!code) return;
    event.preventDefault();
    code.focus();
    code.select();
  });
}

// A scanner is a keyboard that nobody's fingers match: its keys follow each other within this many milliseconds.
const GAP = 45;
// A tag's code, or the address that its QR code carries. A scale that types a weight is left alone.
const LOOKS_LIKE_A_CODE = /^(\d{5}-\d{2,}(\.\d+)*|https?:\/\/\S+)$/;

/** Takes a burst of keys that ends with Enter and looks like a code to the code field, and sends it. */
export function listenForScanner() {
  let burst = "";
  let last = 0;
  let began = null;

  document.addEventListener("keydown", (event) => {
    const code = field();
    const target = event.target;
    if (!code || target === code || target.matches?.("[data-takes-code]")) return;
    if (event.timeStamp - last > GAP) {
      burst = "";
      began = null;
    }
    last = event.timeStamp;

    if (event.key === "Enter") {
      if (!LOOKS_LIKE_A_CODE.test(burst)) return;
      event.preventDefault();
      if (began) began.target.value = began.value;
      code.value = burst;
      burst = "";
      code.form.requestSubmit();
    } else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey) {
      if (burst === "" && types(target)) began = { target, value: target.value };
      burst += event.key;
    }
  }, true);
}

function types(element) {
  return element instanceof HTMLElement && element.matches("input, textarea, select, [contenteditable]");
}

// A double tap sends once. The server takes a form's id only once as well; this spares the person the second answer.

const LONG_ENOUGH = 8000;

export function sendOnce() {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || form.method !== "post") return;
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    mark(form, true);
    setTimeout(() => release(form), LONG_ENOUGH);
  });

  // The page comes back whole when the person goes back to it.
  addEventListener("pageshow", () => document.querySelectorAll("form[data-sent]").forEach(release));
}

function release(form) {
  delete form.dataset.sent;
  mark(form, false);
}

// aria-disabled, not disabled: a disabled button would lose the focus and not be sent along.
function mark(form, sent) {
  for (const button of form.querySelectorAll("button:not([type=button])")) {
    if (sent) button.setAttribute("aria-disabled", "true");
    else button.removeAttribute("aria-disabled");
  }
}

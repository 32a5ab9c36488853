// Reckons a recipe as it is typed. The server does the sums, by the code that reckons a written recipe; nothing is written.
//
// <form data-reckon="/recipes/reckon" data-reckon-into="ID of what shows the figures"
//       data-reckon-head="ID of what says at the head of the page that it is over a limit">

const PAUSE = 400;

export function reckonAsTyped() {
  for (const form of document.querySelectorAll("form[data-reckon]")) reckon(form);
}

function reckon(form) {
  const into = document.getElementById(form.dataset.reckonInto ?? "");
  if (!into) return;
  const head = document.getElementById(form.dataset.reckonHead ?? "");
  let timer;
  let asking;

  // Said again only when it is something else, or every key would be announced.
  const say = (notices) => {
    for (const notice of notices) notice.remove();
    const said = notices.map((notice) => notice.outerHTML).join("");
    if (head && said !== head.innerHTML.trim()) head.replaceChildren(...notices);
  };

  const ask = async () => {
    asking?.abort();
    asking = new AbortController();
    try {
      const body = new URLSearchParams(new FormData(form));
      const answer = await fetch(form.dataset.reckon, { method: "POST", body, signal: asking.signal });
      if (!answer.ok) return;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      say([...page.querySelectorAll("[data-head]")]);
      into.replaceChildren(...page.body.childNodes);
    } catch {
      // Asked again with the next key, or the network is away: "Reckon" draws the page again.
    }
  };

  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, PAUSE);
  });
}

// Shows what was understood of a weight as it is typed, in both unit systems, and what would be left.
// The server reads the text, so that there is one reading of weights and no sums are done here.
//
// <input data-weight-echo="ID of the hint" data-weight-unit="ID of the unit's select" data-weight-from="20540.00">
// data-weight-from: grams from which this weight is taken; optional.

const PAUSE = 180;

export function echoWeights(root = document) {
  for (const input of root.querySelectorAll("[data-weight-echo]")) echo(input);
}

function echo(input) {
  const hint = document.getElementById(input.dataset.weightEcho);
  if (!hint) return;
  const unit = document.getElementById(input.dataset.weightUnit ?? "");
  const said = Array.from(hint.childNodes, (node) => node.cloneNode(true));
  let timer;
  let asking;

  const ask = async () => {
    asking?.abort();
    const text = input.value.trim();
    if (text === "") {
      hint.replaceChildren(...said.map((node) => node.cloneNode(true)));
      return;
    }
    asking = new AbortController();
    const query = new URLSearchParams({ text, unit: unit?.value ?? input.dataset.unit ?? "" });
    if (input.dataset.weightFrom) query.set("from", input.dataset.weightFrom);
    try {
      const answer = await fetch(`/measure/weight?${query}`, { signal: asking.signal, headers: { accept: "application/json" } });
      if (answer.ok) show(hint, await answer.json());
    } catch {
      // Asked again with the next key, or the network is away: the server reads the weight when it is signed.
    }
  };

  const soon = () => {
    clearTimeout(timer);
    timer = setTimeout(ask, PAUSE);
  };
  input.addEventListener("input", soon);
  unit?.addEventListener("change", ask);
  // What was refused already says why, in its error.
  if (input.value.trim() !== "" && input.getAttribute("aria-invalid") !== "true") ask();
}

function show(hint, answer) {
  if (!answer.ok) {
    hint.replaceChildren(answer.message ?? "");
    return;
  }
  const metric = document.createElement("b");
  metric.textContent = answer.metric;
  hint.replaceChildren(metric, ` is ${answer.imperial}.`, answer.left ? ` Leaves ${answer.left}.` : "");
}

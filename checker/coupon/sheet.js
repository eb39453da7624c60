
(() => {
  const form = document.querySelector("form"), result = document.querySelector(".result");
  const blank = document.querySelector(".template"), finished = document.querySelector(".finished");
  const save = document.querySelector(".save"), status = document.querySelector("[role=status]");
  const field = new RegExp(blank.dataset.field, "g");
  const plain = /^[\p{L}\p{N}][\p{L}\p{N} ._+-]*$/u; // what YAML takes as it stands, wherever it stands

  const written = (name) => {
    const input = form.elements[name];
    let text = input.value.trim().replaceAll("\u2212", "-");
    if (text && input.classList.contains("count")) return `${text} of ${input.max}`;
    if (input.classList.contains("width")) text = text.replace(/^([-+]?\d*),(\d+)/, "$1.$2");
    if (name === "cut_before" && /^[\d.]+$/.test(text)) text += " m";
    if (name === "resistance" && /^[\d.]+$/.test(text)) text += " ohm";
    return !text || plain.test(text) || /^[-+]?[\d.]+( \w+)?$/.test(text) ? text : JSON.stringify(text);
  };
  const show = () => {
    finished.textContent = blank.textContent.replace(field, (_, name) => written(name)).replace(/ +$/gm, "");
    save.href = `data:text/yaml;charset=utf-8,${encodeURIComponent(finished.textContent)}`;
    status.textContent = "";
  };
  form.addEventListener("input", show);
  form.addEventListener("submit", (event) => event.preventDefault());
  document.querySelector(".copy").addEventListener("click", async () => {
    getSelection().selectAllChildren(finished);
    try {
      await navigator.clipboard.writeText(finished.textContent);
      status.textContent = "Copied.";
    } catch {
      status.textContent = "Selected: copy it with your keyboard.";
    }
  });
  result.hidden = false;
  show();
  document.querySelector("main").dataset.ready = "";
})();

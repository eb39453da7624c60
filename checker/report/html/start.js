
(async () => {
  for (const report of document.querySelectorAll(".report")) {
    const data = await unpack(document.getElementById(`data-${report.dataset.report}`).textContent);
    const sheet = new Sheet(report, data);
    new Marks(sheet);
    new Places(sheet);
    if (data.stops?.[0].clears) new Remains(sheet);
    if (data.stops) sheet.slider = new Slider(sheet);
    else sheet.marks.set(data.findings.id.map((_, row) => sheet.places.own(row)));
    report.dataset.ready = "";
  }
  const whole = () => {
    for (const side of document.querySelectorAll(".view .side")) {
      const { width, height } = side.closest(".view").dataset;
      side.style.transform = "";
      side.setAttribute("viewBox", `0 0 ${width} ${height}`);
    }
  };
  addEventListener("beforeprint", whole);
})();

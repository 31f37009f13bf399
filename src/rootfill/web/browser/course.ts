// The slider under a canal's heat: one of the moments drawn over one another is shown, and said.

function show(slider: HTMLInputElement): void {
  const section = slider.closest("section");
  if (section === null) return;
  for (const moment of section.querySelectorAll<SVGGElement>("[data-moment]")) {
    const shown = moment.dataset["moment"] === slider.value;
    moment.setAttribute("visibility", shown ? "visible" : "hidden");
    if (!shown) continue;
    const says = moment.dataset["says"] ?? "";
    slider.setAttribute("aria-valuetext", says);
    const output = section.querySelector("output");
    if (output !== null) output.textContent = says;
  }
}

export function listenForCourses(): void {
  document.addEventListener("input", (event) => {
    if (event.target instanceof HTMLInputElement && event.target.hasAttribute("data-course")) show(event.target);
  });
}

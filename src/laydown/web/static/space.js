// Two gamuts in space. The drawing library is large, so it is fetched only when somebody asks for this view.

const TURN = Math.PI / 9;
let library;

function drawingLibrary(address) {
  library ??= new Promise((resolve, reject) => {
    const head = document.head;
    // The library writes inline style sheets while it loads, which this page refuses: an element of this id
    // and class keeps it from writing one; the other, for maps, is not needed and not let in.
    const sheet = document.createElement("link");
    sheet.id = "plotly.js-style-global";
    sheet.className = "no-inline-styles";
    sheet.rel = "stylesheet";
    sheet.href = "/static/space.css";
    head.appendChild = (element) => {
      if (element instanceof HTMLStyleElement) return element;
      return Node.prototype.appendChild.call(head, element);
    };
    const script = document.createElement("script");
    script.src = address;
    script.onload = () => {
      delete head.appendChild;
      resolve(window.Plotly);
    };
    script.onerror = () => {
      delete head.appendChild;
      library = undefined;
      reject(new Error("the drawing library did not load"));
    };
    head.append(sheet, script);
  });
  return library;
}

export async function showInSpace(form) {
  const section = form.closest("section");
  const said = section.querySelector(".space-said");
  const stage = section.querySelector(".space-stage");
  const first = form.elements.first.value;
  const second = form.elements.second.value;
  said.textContent = "Fetching the gamuts";
  try {
    const [plotly, answer] = await Promise.all([
      drawingLibrary(form.dataset.library),
      fetch(`${form.dataset.space}?${new URLSearchParams({ first, second })}`),
    ]);
    const told = await answer.json();
    if (!answer.ok) throw new Error(told.problem);
    stage.hidden = false;
    const plot = document.createElement("div");
    plot.className = "space-plot";
    plot.setAttribute("role", "img");
    plot.setAttribute("aria-label", `Gamuts of ${first} and ${second} in space. ${inWords(first, second)}`);
    stage.replaceChildren(plot, turns(plotly, plot));
    await plotly.newPlot(plot, told.data, told.layout, { displaylogo: false, responsive: true, displayModeBar: false });
    said.textContent = inWords(first, second);
  } catch (error) {
    stage.hidden = true;
    said.textContent = `The view in space cannot be shown here (${error.message}). The overlaps below say the same in numbers.`;
  }
}

// The text alternative: the row of the overlaps table that is about these two.
function inWords(first, second) {
  const row = [...document.querySelectorAll("#overlaps tbody tr")].find(
    ({ dataset: { candidate, other } }) =>
      (candidate === first && other === second) || (candidate === second && other === first),
  );
  if (!row) return "Their overlap was not worked out.";
  const [, volume, otherVolume, shared, coverage] = [...row.querySelectorAll("td")].map((cell) => cell.textContent);
  const { candidate, other } = row.dataset;
  return `${candidate} holds ${volume} and ${other} ${otherVolume} cubic Lab units; they share ${shared}, which is ${coverage} of ${other}.`;
}

function turns(plotly, plot) {
  const row = document.createElement("p");
  row.className = "turns";
  row.setAttribute("role", "group");
  row.setAttribute("aria-label", "Turn the view");
  const ways = [["Turn left", -TURN, 0], ["Turn right", TURN, 0], ["From above", 0, TURN], ["From below", 0, -TURN]];
  for (const [label, around, up] of ways) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button second";
    button.textContent = label;
    button.addEventListener("click", () => turn(plotly, plot, around, up));
    row.append(button);
  }
  return row;
}

function turn(plotly, plot, around, up) {
  const { eye } = plot._fullLayout.scene.camera;
  const radius = Math.hypot(eye.x, eye.y, eye.z);
  const azimuth = Math.atan2(eye.y, eye.x) + around;
  const height = Math.max(-1.45, Math.min(1.45, Math.asin(eye.z / radius) + up));
  const flat = radius * Math.cos(height);
  const turned = { x: flat * Math.cos(azimuth), y: flat * Math.sin(azimuth), z: radius * Math.sin(height) };
  plotly.relayout(plot, { "scene.camera.eye": turned });
}

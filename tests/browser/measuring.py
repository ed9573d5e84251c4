"""What a hand and an eye need, measured in the browser from what is drawn.

Targets at least 64 px, keys of a keypad at least 80 px high, 8 px apart (design section 7); contrast at least
7:1 (WCAG 2.2, success criterion 1.4.6), computed as its definition says from the colours that are rendered.
"""

TARGETS = """() => {
  const shown = (e) => {
    const box = e.getBoundingClientRect();
    const style = getComputedStyle(e);
    return box.width > 0 && box.height > 0 && style.visibility !== "hidden" && !e.closest("[hidden]");
  };
  const dialog = document.querySelector("dialog[open]");
  const root = dialog ?? document;
  const inputs = "button, a[href], select, summary, textarea, input:not([type=hidden])";
  const places = [];
  for (const element of root.querySelectorAll(inputs)) {
    if (!shown(element) || element.matches(".skip") || element.disabled) continue;
    const inLabel = element.matches("input[type=radio], input[type=checkbox], .file-input");
    const target = inLabel ? element.closest("label") : element;
    const box = target.getBoundingClientRect();
    places.push({
      name: (target.textContent || target.getAttribute("aria-label") || target.id).trim().slice(0, 40),
      key: target.matches(".key"), left: box.left, top: box.top, right: box.right, bottom: box.bottom,
    });
  }
  return places;
}"""

CONTRASTS = """() => {
  const channel = (value) => {
    const part = value / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  };
  const luminance = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const parse = (text) => (text.match(/[\\d.]+/g) ?? []).map(Number);
  const over = ([r, g, b, a = 1], below) => [r, g, b].map((value, i) => value * a + below[i] * (1 - a));
  const ground = (element) => {
    const layers = [];
    for (let e = element; e; e = e.parentElement) {
      const colour = parse(getComputedStyle(e).backgroundColor);
      if ((colour[3] ?? 1) > 0) layers.push(colour);
      if ((colour[3] ?? 1) === 1) break;
    }
    return layers.reverse().reduce((below, layer) => over(layer, below), [255, 255, 255]);
  };
  const dialog = document.querySelector("dialog[open]");
  const root = dialog ?? document.body;
  const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  const found = [];
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const element = node.parentElement;
    const box = element.getBoundingClientRect();
    const aside = element.closest("[hidden], .visually-hidden, script, footer, .skip");
    if (!node.textContent.trim() || box.width < 2 || box.height < 2 || aside) continue;
    if (getComputedStyle(element).visibility === "hidden") continue;
    const below = ground(element);
    const text = over(parse(getComputedStyle(element).color), below);
    const [light, dark] = [luminance(text), luminance(below)].sort((a, b) => b - a);
    found.push({ text: node.textContent.trim().slice(0, 40), ratio: (light + 0.05) / (dark + 0.05) });
  }
  return found;
}"""

Place = dict[str, float]


def too_small(places: list[Place]) -> list[str]:
    """Name the targets below 64 px, and the keys of a keypad below 80 px of height."""
    found = []
    for place in places:
        wide, high = place["right"] - place["left"], place["bottom"] - place["top"]
        if wide < 63.99 or high < (79.99 if place["key"] else 63.99):
            found.append(f"{place['name']}: {wide:.0f} x {high:.0f}")
    return found


def gap(one: Place, other: Place) -> float:
    """Give the distance between two targets, 0 where they touch."""
    across = max(one["left"], other["left"]) - min(one["right"], other["right"])
    down = max(one["top"], other["top"]) - min(one["bottom"], other["bottom"])
    return max(across, down)


def too_close(places: list[Place]) -> list[str]:
    """Name the pairs of targets that are less than 8 px apart."""
    return [
        f"{one['name']} and {other['name']}: {gap(one, other):.1f} px"
        for place, one in enumerate(places)
        for other in places[place + 1 :]
        if gap(one, other) < 7.99
    ]

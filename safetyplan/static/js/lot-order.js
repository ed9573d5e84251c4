/** Lots of a washing: a tap on a lot gives it the next place in the order; a tap on one that has a place takes it away. */

const rows = [...document.querySelectorAll("#lot-choice .lot-row")].filter((row) => row.querySelector(".place"));
const place = (row) => row.querySelector(".place");
const given = () => rows.map((row) => Number.parseInt(place(row).value, 10)).filter(Number.isInteger);

function takeAway(row) {
  const gone = Number.parseInt(place(row).value, 10);
  place(row).value = "";
  rows.forEach((other) => {
    const mine = Number.parseInt(place(other).value, 10);
    if (mine > gone) place(other).value = String(mine - 1);
  });
}

rows.forEach((row) => row.querySelector("label").addEventListener("click", (event) => {
  event.preventDefault();
  if (place(row).value) takeAway(row);
  else place(row).value = String(Math.max(0, ...given()) + 1);
}));

/** Local times of the establishment to instants and back, by the browser's own time zone data. */

const MINUTE = 60_000;
const DAY = 86_400_000;

function wallClock(date, zone) {
  const parts = new Intl.DateTimeFormat("en-GB", {
    timeZone: zone, hourCycle: "h23", calendar: "gregory", numberingSystem: "latn",
    year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit",
  }).formatToParts(date);
  return Object.fromEntries(parts.map(({ type, value }) => [type, value]));
}

/** {date: "2026-05-14", time: "18:00"}: an instant as the clock on the wall shows it. */
export function localTime(date, zone) {
  const { year, month, day, hour, minute } = wallClock(date, zone);
  return { date: `${year}-${month}-${day}`, time: `${hour}:${minute}` };
}

/**
 * The instants a wall clock showed this date and time: none where the clock jumped forward over it,
 * two where it was set back, else one. Null when it is no date and time at all.
 */
export function instantsOf(dateText, timeText, zone) {
  const naive = Date.parse(`${dateText}T${timeText}:00.000Z`);
  if (Number.isNaN(naive) || new Date(naive).toISOString().slice(0, 16) !== `${dateText}T${timeText}`) return null;
  const offsets = [naive - DAY, naive + DAY].map((near) => {
    const { date, time } = localTime(new Date(near), zone);
    return Date.parse(`${date}T${time}:00.000Z`) - Math.floor(near / MINUTE) * MINUTE;
  });
  return [...new Set(offsets)]
    .map((offset) => new Date(naive - offset))
    .filter((candidate) => {
      const shown = localTime(candidate, zone);
      return shown.date === dateText && shown.time === timeText;
    })
    .sort((first, second) => first - second);
}

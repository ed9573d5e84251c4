"""Records made on a device by the page's own modules, many at once; and devices that are wrong on purpose."""

from typing import Any

from tests.browser.conftest import PASSWORD

QUEUE = """async ({ count, person, value }) => {
  const { readAll } = await import("/static/js/store.js");
  const { buildClaim } = await import("/static/js/claim.js");
  const { instant } = await import("/static/js/canonical.js");
  const credentials = await import("/static/js/credential.js");
  const outbox = await import("/static/js/outbox.js");
  const [bundle] = await readAll("bundles");
  // in the evening every check of the day is made: the bundle has those of the days to come
  const { data } = bundle.checks.find(({ data }) => data.control === "PRP1");
  const today = new Intl.DateTimeFormat("sv-SE", { timeZone: bundle.zone }).format(new Date(bundle.made_at));
  const own = await credentials.current(bundle.establishment, person ?? bundle.person);
  const server = { url: bundle.shared.claims_url, key: bundle.shared.server_public_key };
  const made = [];
  for (let number = 0; number < count; number += 1) {
    const now = new Date();
    const claim = buildClaim({ kind: "reading", credential: own, now, content: {
      lot: null, observed_at: instant(now), late_reason: "", supersedes: null, reason: "",
      slot: `day:${today}:PRP1:extra`, control: data.control, plan_version: data.plan_version,
      instrument: null, parts: [{ name: data.parts[0].name, raw: value, unit: "", confirmed: false }],
    } });
    await outbox.keep(claim, own, { page: "queue", label: "Cold store", server });
    made.push([claim.uuid, claim.person, claim.captured_at]);
  }
  return made;
}"""
# A worker has a clock of its own to a test, so nothing wakes it here.
CLOCK_OFF = """const Right = Date;
Object.defineProperty(ServiceWorkerRegistration.prototype, "sync", { value: undefined });
globalThis.Date = class extends Right {
  constructor(...given) { if (given.length) super(...given); else super(Right.now() + SHIFT); }
  static now() { return Right.now() + SHIFT; }
};"""
DISK_FULL = """const put = IDBObjectStore.prototype.put;
IDBObjectStore.prototype.put = function (row, ...more) {
  if (this.name === "sending") throw new DOMException("full", "QuotaExceededError");
  return put.call(this, row, ...more);
};"""
OTHER_PAST = """async () => {
  const { read, readAll, write } = await import("/static/js/store.js");
  const [bundle] = await readAll("bundles");
  const kept = await read("witness", bundle.establishment);
  await write("witness", { ...kept, size: kept.size - 1, root: "ab".repeat(32) });
}"""
READY = """async () => {
  await navigator.serviceWorker.ready;
  const { read } = await import("/static/js/store.js");
  const bar = document.getElementById("device-bar");
  for (let tries = 0; tries < 150; tries += 1) {
    const names = await caches.keys();
    const { establishment } = bar.dataset;
    const bundle = await read("bundles", establishment);
    const key = bundle && await read("credentials", `${establishment}/${bundle.person}`);
    if (names.length > 0 && key && await read("witness", establishment)) return true;
    await new Promise((done) => setTimeout(done, 200));
  }
  return false;
}"""
PEOPLE = """async () => {
  const { readAll } = await import("/static/js/store.js");
  for (let tries = 0; tries < 150; tries += 1) {
    const people = (await readAll("credentials")).map(({ key }) => key.split("/")[1]);
    if (people.length === 2) return people;
    await new Promise((done) => setTimeout(done, 200));
  }
  throw new Error("one person alone has a key here");
}"""
STATES = """async () => {
  const { all } = await import("/static/js/outbox.js");
  return (await all()).reverse().map(({ uuid, state, receipt, claim, refusal, label }) => ({
    uuid, state, refusal, label, sequence: receipt?.receipt.sequence ?? null,
    person: claim.person, captured_at: claim.captured_at }));
}"""
FLUSH = "async () => (await import('/static/js/outbox.js')).flush({ held: true })"
STORED = (
    "found = [[str(r.pk), str(r.author_id), r.claim['captured_at']]"
    " for r in Reading.objects.of(dairy).order_by('entry__sequence') if r.claim and r.credential_id]"
)


def sign_in(page: Any, person: str) -> None:
    """Sign in and come to the page of today."""
    page.goto("/sign-in/")
    page.get_by_label("Sign-in name").fill(person)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/today/")


def made_ready(page: Any) -> None:
    """Wait until the kept page, the bundle, the key and the last seal are on the device."""
    assert page.evaluate(READY)


def queue(page: Any, count: int, person: str | None = None, value: str = "3.5") -> list[list[str]]:
    """Keep that many records on the device without sending them; give UUID, author and time of each."""
    made: list[list[str]] = page.evaluate(QUEUE, {"count": count, "person": person, "value": value})
    return made


def beside(page: Any) -> Any:
    """Open a second page of the same device that stays where it is, to look into the outbox."""
    desk = page.context.new_page()
    desk.goto("/static/icons/favicon.svg")
    return desk


def states(page: Any) -> list[dict[str, Any]]:
    """Give what the device holds, in the order in which it was made."""
    found: list[dict[str, Any]] = page.evaluate(STATES)
    return found


def flush(page: Any) -> None:
    """Send what waits, and wait until that is done."""
    page.evaluate(FLUSH)

"""A phone in the yard: its service worker in charge, its copy of the yard fetched, and no reception."""

from contextlib import suppress

from playwright.sync_api import Error, Page

WORKER = """async () => {
  const { serviceWorker } = navigator;
  const inCharge = async () => {
    await serviceWorker.ready;
    if (!serviceWorker.controller)
      await new Promise(done => serviceWorker.addEventListener("controllerchange", done, { once: true }));
    return true;
  };
  return Promise.race([inCharge(), new Promise(done => setTimeout(done, 60_000, false))]);
}"""
# Plain requests to the phone's own store, so that a test does not lean on the module that it tests.
COPY = """() => new Promise((resolve) => {
  const request = indexedDB.open("drystack");
  request.onerror = () => resolve(null);
  request.onsuccess = () => {
    const db = request.result;
    if (!db.objectStoreNames.contains("meta")) { db.close(); return resolve(null); }
    const names = ["stacks", "boards", "tags", "charges", "outbox"];
    const read = db.transaction(["meta", ...names]);
    const found = {};
    for (const name of names)
      read.objectStore(name).getAll().onsuccess = (event) => { found[name] = event.target.result; };
    for (const key of ["user", "copy"])
      read.objectStore("meta").get(key).onsuccess = (event) => { found[key] = event.target.result; };
    read.oncomplete = () => { db.close(); resolve(found); };
  };
})"""


def kept(page: Page) -> dict | None:
    """All that the phone keeps: stacks, boards, tags, charges, outbox, user, copy."""
    for _turn in range(20):
        with suppress(Error):  # the page is just being left for the next one
            return page.evaluate(COPY)
        page.wait_for_timeout(100)
    return page.evaluate(COPY)


def settle(page: Page, *, stacks: int | None = None) -> None:
    """Wait until the worker has the page and the copy is there (with so many stacks)."""
    assert page.evaluate(WORKER), "no worker came: is the test marked service_worker?"
    for _turn in range(100):
        found = kept(page)
        if found and found.get("copy") and (stacks is None or len(found["stacks"]) == stacks):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"the copy never came: {kept(page)}")


def out_of_reach(page: Page) -> None:
    """Without reception; errors that a browser logs for failed requests are no faults then."""
    page.context.set_offline(True)


def faults_of(page: Page) -> list[str]:
    """A list that fills with what the browser complains about, but for requests that find no network."""
    found: list[str] = []
    page.on("pageerror", lambda error: found.append(str(error)))

    def note(message: object) -> None:
        text = message.text  # type: ignore[attr-defined]
        if message.type == "error" and "ERR_INTERNET_DISCONNECTED" not in text:  # type: ignore[attr-defined]
            found.append(text)

    page.on("console", note)
    return found

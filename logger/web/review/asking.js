// What is asked of odovox. Every path is relative, so that the secret in the page's own address goes along.

/** Ask for something; the error says what to tell the person. */
export async function ask(path) {
  return reading(await sending(path, {}));
}

/** Send an answer; what comes back may be choices, or the drive as it is then. */
export async function answer(body) {
  return reading(
    await sending("answer", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    }),
  );
}

async function sending(path, parts) {
  try {
    return await fetch(path, { cache: "no-store", ...parts });
  } catch {
    throw new Error("odovox does not answer any more: was it ended? Start `odovox review` again.");
  }
}

async function reading(response) {
  let body = null;
  try {
    body = await response.json();
  } catch {
    throw new Error(`odovox answered ${response.status} and nothing that can be read`);
  }
  if (!response.ok) throw Object.assign(new Error(body.error ?? `odovox answered ${response.status}`), body);
  return body;
}

// What differs in another recording.

function againstSection(page) {
  const d = page.against;
  if (!d) return null;
  const differ = d.messages - d.alike - d.too_few;
  const lead = "A is this session, B is " + d.b.capture + ", session " + d.b.session + ". " +
    (d.differences.length
      ? plural(d.differences.length, "difference", "differences") + ", in " + differ + " of " + plural(d.messages, "message", "messages") + "."
      : "No difference: what came in one came in the other as well, and alike but for noise.");
  const shown = new Map(page.messages.map((m) => [m.bus + "-" + m.id, m]));
  const name = (x) => {
    if (x.id === null) return "bus " + x.bus;
    const text = (shown.size && page.bus.buses.length > 1 ? "bus " + x.bus + " " : "") + x.id;
    const message = shown.get(x.bus + "-" + x.id);
    return message ? make("a", {href: "#" + message.anchor, class: "mono"}, text) : make("span", {class: "mono"}, text);
  };
  const least = Math.max(...d.differences.map((x) => x.chance), 1e-6);
  return section("against", "What differs in the other recording", lead,
    d.differences.length ? table("Differences between this session and the other recording", [
      {title: "Message", of: name},
      {title: "Difference", of: (x) => make("span", {class: "sentence"}, x.words)}], d.differences) : null,
    make("p", {class: "quiet"}, plural(d.alike, "message is", "messages are") + " alike" +
      (d.too_few ? "; " + d.too_few + " came too rarely to be compared" : "") + "." +
      (d.differences.length ? " Noise and drift would show the least sure of these in at most " + figure(least * 1e6, 1) +
        " of a million pairs of recordings of one steady board." : "")));
}

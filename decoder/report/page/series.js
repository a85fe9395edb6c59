// Reads the packed series; packed.h says how they are written.

// {low, high}: one entry a bucket, null where there was no value.
function unpack(values, buckets) {
  const low = new Array(buckets).fill(null);
  const high = new Array(buckets).fill(null);
  if (!values) return {low, high};
  const bytes = Uint8Array.from(atob(values.data), (c) => c.charCodeAt(0));
  let at = 0;
  const next = () => {
    let number = 0;
    let place = 1;
    for (;;) {
      const byte = bytes[at++];
      number += (byte & 0x7f) * place;
      if (byte < 0x80) return number;
      place *= 128;
    }
  };
  let before = 0;
  for (let bucket = 0; at < bytes.length && bucket < buckets;) {
    const head = next();
    if (head === 0) {
      bucket += next();
      continue;
    }
    const code = head - 1;
    before += code % 2 === 0 ? code / 2 : -(code + 1) / 2;
    low[bucket] = values.base + values.step * before;
    high[bucket] = values.base + values.step * (before + next());
    ++bucket;
  }
  return {low, high};
}

// Holes no longer than usual between two values are drawn across, longer ones left open: a plot
// joins over undefined, and breaks at null. Changes the arrays.
function joinHoles({low, high}) {
  const holes = [];
  let run = 0;
  let seen = false;
  for (const value of low) {
    if (value === null) {
      ++run;
    } else {
      if (seen) holes.push(run);
      seen = true;
      run = 0;
    }
  }
  if (holes.length === 0) return {low, high};
  holes.sort((a, b) => a - b);
  const longest = 3 * holes[holes.length >> 1] + 4;
  let from = -1;
  for (let i = 0; i < low.length; ++i) {
    if (low[i] === null) continue;
    if (from >= 0 && i - from - 1 <= longest) {
      for (let k = from + 1; k < i; ++k) low[k] = high[k] = undefined;
    }
    from = i;
  }
  return {low, high};
}

// The middle of each bucket's extremes, the last one kept over short holes.
function heldMiddles({low, high}) {
  let last = null;
  return low.map((value, i) => {
    if (value === null) last = null;
    else if (value !== undefined) last = (value + high[i]) / 2;
    return last;
  });
}

// A channel that holds: its value at each of `times` (ascending).
function heldAt(channel, times) {
  let k = -1;
  return times.map((t) => {
    while (k + 1 < channel.times.length && channel.times[k + 1] <= t) ++k;
    return k < 0 ? null : channel.levels[k];
  });
}

// Names that differ in a trailing number, four or more of one unit: [{name, members}], else alone.
function grouped(list) {
  const sets = new Map();
  for (const item of list) {
    const base = item.name.replace(/_?\d+$/, "");
    const key = base === item.name || item.words ? "=" + item.name : base + " " + item.unit;
    if (!sets.has(key)) sets.set(key, {name: base, members: []});
    sets.get(key).members.push(item);
  }
  const groups = [];
  for (const set of sets.values()) {
    if (set.members.length >= 4) groups.push(set);
    else for (const one of set.members) groups.push({name: one.name, members: [one]});
  }
  return groups;
}

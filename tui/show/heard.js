"use strict";

// After so long without a word from the cart what stands here is not shown as what is so.
const QUIET_MS = 5000;
// A connection that says nothing for so long is given up, and another one is tried.
const AGAIN_MS = 9000;

const part = (id) => document.getElementById(id);

// Writes only what is another, so that nothing is laid out or read aloud again.
function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

// Calls show with what the cart says, each time it does, and lose with the time of day since when it
// is not heard ("" for not yet), each half second while it is not.
function listen(show, lose) {
  let source = null;
  let at = "";
  let lost = false;
  const opened = { page: 0, wall: 0 };
  const heard = { page: -Infinity, wall: -Infinity };

  // A device that slept may have stopped its own clock: the longer of both is so. A wall clock
  // that is put right costs a word too much, until the next event.
  function since(mark) {
    return Math.max(performance.now() - mark.page, Date.now() - mark.wall);
  }

  function set(mark) {
    mark.page = performance.now();
    mark.wall = Date.now();
  }

  function open() {
    if (source) source.close();
    set(opened);
    source = new EventSource("events");
    source.onmessage = (event) => {
      const told = JSON.parse(event.data);
      set(heard);
      lost = told.lost !== undefined;
      if (lost) {
        at = told.lost;
        lose(at);
      } else {
        at = told.at;
        show(told);
      }
    };
  }

  function look() {
    if (lost || since(heard) > QUIET_MS) lose(at);
    const waits = Math.min(since(heard), since(opened));
    const closed = source.readyState === EventSource.CLOSED && since(opened) > 2000;
    if (closed || waits > AGAIN_MS) open();
  }

  open();
  setInterval(look, 500);
  document.addEventListener("visibilitychange", look);
}

function notHeard(at) {
  return at ? `Not heard since ${at}` : "Not heard yet";
}

listen(
  (told) => {
    write(part("place"), told.place);
    write(part("stage"), told.stage);
    write(part("ready"), told.ready.replace(/^ready/, "Ready about"));
    write(part("heard"), "");
    document.body.dataset.field = "page";
  },
  (at) => {
    for (const id of ["place", "stage", "ready"]) write(part(id), "");
    write(part("heard"), notHeard(at));
    document.body.dataset.field = "off";
  },
);

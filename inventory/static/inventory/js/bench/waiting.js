// On pages of the bench without a box for readings: send what still waits, and say so.

import { Sender } from "./sender.js";
import { Status } from "./status.js";

const region = document.querySelector("#bench-waiting");
if (region) {
  let status = null;
  const sender = new Sender({
    person: region.dataset.person,
    address: location.pathname,
    answered: () => {},
    refused: () => {},
    changed: () => status?.show(),
  });
  status = new Status(region, sender);
  status.show();
}

// What the page of one picture needs besides; no other page waits for it.

import { showCanals } from "./canals";
import { showPicture } from "./slices";

showCanals(showPicture());

// What the page of one picture needs besides; no other page waits for it.

import { showPicture } from "./slices";

showPicture();

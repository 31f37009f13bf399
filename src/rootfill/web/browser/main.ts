import htmx from "htmx.org";
import { listenForAnswers } from "./answers";
import { listenForCourses } from "./course";
import { listenForEntries } from "./entries";
import { listenForPictures } from "./keep";
import { listenForKeys } from "./keys";
import { lockWhenIdle } from "./lock";

htmx.config.includeIndicatorStyles = false; // an inline style, which the page's own policy refuses
htmx.config.allowEval = false;
htmx.config.selfRequestsOnly = true;
htmx.config.historyCacheSize = 0; // no page with a patient's tooth stays behind in the browser
htmx.config.responseHandling = [
  { code: "204", swap: false },
  { code: "[23]..", swap: true },
  { code: "[45]..", swap: true, error: true },
];
listenForKeys();
listenForEntries();
listenForAnswers();
listenForCourses();
listenForPictures();
lockWhenIdle();

// Sending a list to be looked at or taken, with how far that has come.
import { signal } from "../../lib/vendor/ui.js";
import { Problem } from "../../lib/api.js";
import { language } from "../../lib/words.js";

/**
 * sending is how far a list has come: the part of it that was sent, 1 while the server
 * reads it; null when nothing is on its way.
 */
export const sending = signal(/** @type {number | null} */ (null));

/**
 * sendList sends a list and gives what it comes to. It throws a Problem.
 * @param {string} kind
 * @param {Blob} file
 * @param {Record<string, string>} query
 * @returns {Promise<import("../../lib/_types.js").Schema["LookedAt"]>}
 */
export const sendList = (kind, file, query) =>
  new Promise((done, fail) => {
    const x = new XMLHttpRequest();
    x.open("POST", `/api/v1/lists/${encodeURIComponent(kind)}?${new URLSearchParams(query)}`);
    x.setRequestHeader("Accept", "application/json");
    x.setRequestHeader("Accept-Language", language);
    x.setRequestHeader("Content-Type", "application/octet-stream");
    x.upload.onprogress = (e) => {
      sending.value = e.lengthComputable ? e.loaded / e.total : 0;
    };
    x.onload = () => {
      let data = null;
      try {
        data = JSON.parse(x.responseText);
      } catch {
        // Something in between answered, not our server.
      }
      if (x.status >= 200 && x.status < 300 && data) done(data);
      else fail(new Problem(x.status, data?.detail || data?.title, data?.field));
    };
    x.onerror = () => fail(new Problem(0));
    x.onloadend = () => {
      sending.value = null;
    };
    sending.value = 0;
    x.send(file);
  });

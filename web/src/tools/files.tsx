/** The files of the job, in heaps a person would make of them, and the folder as a whole. */

import { type Job, type JobFile, fileAddress, folderAddress } from "../state/job";
import { bytesInWords, heapsOf, namesHeld } from "./heaps";

export function Files({ job, sheath }: { job: Job; sheath: string }) {
  const held = namesHeld(job.programs);
  return (
    <section class="files">
      <h2>Files</h2>
      <p>
        <a class="key brass" href={folderAddress(sheath)} download={`${sheath}.zip`}>
          The whole folder
        </a>
      </p>
      {held.length === 0 ? null : (
        <p class="quiet">Kept back until they are proved, in the folder too: {held.join(", ")}.</p>
      )}
      {heapsOf(job).map(({ title, files }) => (
        <details key={title} class="folded" open={title === "Pages to print"}>
          <summary>
            {title} <span class="quiet">{files.length}</span>
          </summary>
          <ul>
            {files.map((file) => (
              <FileRow key={file.path} file={file} sheath={sheath} />
            ))}
          </ul>
        </details>
      ))}
    </section>
  );
}

function FileRow({ file, sheath }: { file: JobFile; sheath: string }) {
  const name = file.path.split("/").pop() ?? file.path;
  return (
    <li>
      <a href={fileAddress(sheath, file.path)} download={name}>
        {name}
      </a>
      <span class="quiet">{bytesInWords(file.bytes)}</span>
    </li>
  );
}

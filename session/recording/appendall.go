package recording

import "iter"

// chunkSize is how much [Writer.AppendAll] hands to the system at once.
const chunkSize = 64 << 10

// AppendAll writes entries that are all there already, as from an imported file, many lines at once.
// The error is that of [Writer.Append] for the first entry that cannot be written; those before it
// are written.
func (w *Writer) AppendAll(entries iter.Seq[Entry]) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if err := w.ready(); err != nil {
		return err
	}
	var chunk []byte
	count := w.count
	flush := func() error {
		if len(chunk) > 0 {
			if err := w.put(chunk); err != nil {
				return err
			}
		}
		w.count, chunk = count, chunk[:0]
		return nil
	}
	for e := range entries {
		line, err := encodeEntry(w.buf, &e)
		w.buf = line
		if err != nil {
			if full := flush(); full != nil {
				return full
			}
			return err
		}
		chunk = append(chunk, line...)
		count.Entries++
		if e.Kind == KindExchange {
			count.Exchanges++
		}
		count.Duration = max(count.Duration, micro(e.time()))
		if len(chunk) >= chunkSize {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	return flush()
}

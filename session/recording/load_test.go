package recording

import "io"

// Recording is a whole file in memory, for tests.
type Recording struct {
	Header  Header // with all that became known during the session
	Entries []Entry
	End     End // zero when Damage.Ended is false
	Damage  Damage
}

// Load reads a whole recording. Errors are those of [Open] and [Reader.Err]; after a read
// error what was read so far comes with it.
func Load(path string) (*Recording, error) {
	r, err := Open(path)
	if err != nil {
		return nil, err
	}
	rec, err := r.rest()
	if closeErr := r.Close(); err == nil && closeErr != nil {
		err = NewFileError("read", path, closeErr)
	}
	return rec, err
}

// LoadFrom is Load for an open source, such as a file that is built into the program.
func LoadFrom(src io.Reader, name string) (*Recording, error) {
	r, err := NewReader(src, name)
	if err != nil {
		return nil, err
	}
	return r.rest()
}

// rest reads to the end.
func (r *Reader) rest() (*Recording, error) {
	var entries []Entry
	for r.Next() {
		entries = append(entries, r.Entry())
	}
	end, _ := r.End()
	return &Recording{Header: r.Header(), Entries: entries, End: end, Damage: r.Damage()}, r.Err()
}

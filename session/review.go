package session

import (
	"judder/pids"
	"judder/session/recording"
)

// Review reads a whole recording and says what is in it. The error is that of a file that
// is no recording; a damaged one is reviewed all the same and Result.Damage says what is
// missing.
func Review(path string) (Result, error) {
	a := NewAnalysis()
	var marks []Mark
	damage, err := Read(path, func(e *recording.Entry) {
		a.Take(e)
		if m, ok := markOf(e); ok {
			marks = append(marks, m)
		}
	})
	if err != nil {
		return Result{}, err
	}
	a.Finish()
	r := a.Result()
	r.Marks, r.Damage = marks, damage
	return r, nil
}

// Read hands every whole entry of a recording to take, in order, and says in words what is
// missing.
func Read(path string, take func(*recording.Entry)) (damage string, err error) {
	r, err := recording.Open(path)
	if err != nil {
		return "", err
	}
	for r.Next() {
		e := r.Entry()
		take(&e)
	}
	if err := r.Err(); err != nil {
		_ = r.Close()
		return "", err
	}
	d := r.Damage()
	return d.String(), r.Close()
}

// Readings are all readings of a recording, in order of their arrival.
func Readings(path string) (samples []pids.Sample, damage string, err error) {
	a := NewAnalysis()
	damage, err = Read(path, func(e *recording.Entry) {
		samples = append(samples, a.Take(e)...)
	})
	return samples, damage, err
}

func markOf(e *recording.Entry) (Mark, bool) {
	switch e.Kind {
	case recording.KindFelt:
		return Mark{At: e.At}, true
	case recording.KindNote:
		return Mark{At: e.At, Note: e.Mark.Text}, true
	}
	return Mark{}, false
}

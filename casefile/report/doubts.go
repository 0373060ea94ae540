package report

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/casefile"
)

// doubts are reasons not to rely on the answer that lie in the files and not in the car: a complaint or marks
// that judder cannot read, two cars, a file that was changed, or a drive on the wrong side of the repair.
func (w *writer) doubts() (list []string) {
	if w.twoCars() {
		list = append(list, "The files of this case name more than one identification number: they may not be of one car.")
	}
	for i := range w.e.Hashes {
		if h := &w.e.Hashes[i]; h.Changed() && (h.File.Kind == casefile.Drive || h.File.Kind == casefile.CodeCheck) {
			list = append(list, fmt.Sprintf("The %s %s is not as it was when it joined the case.", h.File.Kind, h.File.Name))
		}
	}
	for i := range w.e.Drives {
		d := &w.e.Drives[i]
		c := &w.e.Case
		if d.Result.MarksUnread != "" {
			list = append(list, fmt.Sprintf("The marks of the drive %s cannot be read: the shake may have been felt more often.", d.File.Name))
		}
		switch at := d.At(); {
		case at.IsZero() || !c.Repaired():
		case d.File.Stage == casefile.After && c.Precedes(at):
			list = append(list, fmt.Sprintf("The drive %s counts as after the work, and its date, %s, is before the repair. One of the two is wrong.", d.File.Name, day(at)))
		case d.File.Stage == casefile.After && at.Before(c.FirstRepair()):
			list = append(list, fmt.Sprintf("The drive %s counts as after the work, and it began at %s, before the repair was written down (%s).", d.File.Name, stamp(at), stamp(c.FirstRepair().In(at.Location()))))
		case d.File.Stage == casefile.Before && !c.Precedes(at.AddDate(0, 0, -1)):
			list = append(list, fmt.Sprintf("The drive %s counts as before the work, and its date, %s, is after a repair. One of the two is wrong.", d.File.Name, day(at)))
		}
	}
	return append(list, unread(&w.e.Case.Complaint, w.answer.In)...)
}

// unread is what of the complaint no drive was held against.
func unread(c *casefile.Complaint, in conditions) []string {
	box, parts := c.Box()
	for i, part := range parts {
		parts[i] = "“" + part + "”"
	}
	switch {
	case parts != nil:
		return []string{fmt.Sprintf("Of the complaint %s could not be read as a speed, load or temperature: no drive was held against it.", strings.Join(parts, " and "))}
	case c.Words != "" && box.IsZero() && in.box.IsZero():
		return []string{"The complaint has no speed, load or temperature that a drive was held against."}
	}
	return nil
}

// twoCars reports whether the files name more than one identification number.
func (w *writer) twoCars() bool {
	return len(w.vins()) > 1 || strings.HasPrefix(w.sameCar(), twoCars)
}

// twoCars begins the line about the car where it is not one.
const twoCars = "NO: "

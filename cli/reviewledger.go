package cli

import (
	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/session"
)

// ledgerOf is what speaks for and against each cause.
func ledgerOf(r *session.Result) cause.Ledger {
	f := cause.Facts{Verdict: r.Verdict, Events: r.Events, Observations: r.Observations}
	for i := range r.Marks {
		if m := &r.Marks[i]; m.Note == "" {
			f.Felt = append(f.Felt, m.At)
		}
	}
	for i := range r.Slip {
		s := &r.Slip[i]
		f.Slip = append(f.Slip, cause.Slip{Start: s.Start, End: s.End, SwingRPM: s.SwingRPM, Estimated: s.ApparentRPM > 0})
	}
	for _, c := range r.Codes {
		f.Codes = append(f.Codes, cause.Code{At: c.At, Code: c.Code})
	}
	for i := range r.Checks {
		f.CodesRead = f.CodesRead || !r.Checks[i].Broke
	}
	return cause.Make(&f)
}

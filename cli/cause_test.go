package cli

import (
	"errors"
	"testing"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/link"
)

// Whatever the package that opens links says of a failure is a cause that a recording keeps.
func TestLinkKindsAreCauses(t *testing.T) {
	for kind, want := range map[error]obd.Cause{
		link.ErrNoPort: obd.CauseNoPort, link.ErrPermission: obd.CausePermission, link.ErrBusy: obd.CauseBusy,
		link.ErrNotSerial: obd.CauseNotSerial, link.ErrSpeed: obd.CausePortSpeed, link.ErrAddress: obd.CauseAddress,
		link.ErrNoHost: obd.CauseNoHost, link.ErrRefused: obd.CauseRefused, link.ErrNoRoute: obd.CauseNoRoute,
		link.ErrTimeout: obd.CauseTimeout, link.ErrGivenUp: obd.CauseGivenUp, link.ErrOther: obd.CauseOtherDevice,
	} {
		var named interface{ LinkCause() string }
		if err := error(&link.OpenError{Target: "x", Err: kind}); !errors.As(err, &named) || obd.CauseByCode(named.LinkCause()) != want {
			t.Errorf("%v is not %q", kind, want)
		}
	}
}

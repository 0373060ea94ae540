package cli

import (
	"fmt"

	"github.com/judder-obd/judder/cli/remember"
)

type forgetCommand struct{}

func (forgetCommand) Run(e *env) error {
	path, err := remember.Forget()
	if err != nil {
		return err
	}
	text := "nothing was remembered"
	if path != "" {
		text = "forgotten: " + path + " is removed"
	}
	_, err = fmt.Fprintln(e.out, text)
	return err
}

package cli

import (
	"fmt"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/tui"
)

type replayCommand struct {
	complaintFlag
	sayFlag
	File     string  `arg:"" name:"FILE" help:"A recording."`
	Speed    float64 `default:"1" placeholder:"N" help:"1 is real time, 10 is ten times faster, 0 is as fast as possible."`
	Bell     *bool   `negatable:"" help:"Ring the terminal bell at a new event. Default: as chosen last, at first yes."`
	Sunlight bool    `help:"Black on white, for a screen in the sun; the key s changes it."`
	FPS      int     `default:"15" help:"Frames per second of the screen."`
}

func (c *replayCommand) Run(e *env) error {
	if err := c.complaintFlag.check(); err != nil {
		return err
	}
	if err := c.sayFlag.check(); err != nil {
		return err
	}
	f := sessionFlags{FPS: c.FPS, Sunlight: c.Sunlight}
	if err := f.check(); err != nil {
		return err
	}
	r, err := session.OpenReplay(c.File, c.Speed)
	if err != nil {
		return err
	}
	if c.given() {
		r.SetComplaint(c.box)
	}
	if why := e.screenless(); why != "" {
		return fmt.Errorf("replay draws a screen, and %s; judder review %s prints what was found", why, prose.Quoted(c.File))
	}
	options := f.options(e)
	if c.Bell != nil { // of this replay alone: the next drive rings as before
		options.Bell = *c.Bell
	}
	options.Beside, options.Speaker, options.Export = r.Run, c.speaker(e.ctx), windowsOf(c.File)
	return tui.RunReplay(e.ctx, r, options)
}

package main

import (
	"context"
	"fmt"
	"image"
	"image/png"
	"io"
	"strings"

	"perch/compile"
	"perch/compile/output"
	"perch/compile/picture"
)

// pictureCommand draws parts without a screen.
type pictureCommand struct {
	View   string `default:"sheet" placeholder:"VIEW" help:"sheet for top, front, right and corner views together, or one of front, top, right, back, left, below, corner."`
	Pixels string `default:"1000x800" placeholder:"WxH" help:"Size of the picture."`
	perPart
}

// Help implements kong.HelpProvider.
func (*pictureCommand) Help() string {
	return `A part named comb becomes comb.png: shaded, with its edges and a scale bar. The straight views are those of a drawing: front looks away from you, top down, right from the right; corner looks from the front right, above.`
}

// Run implements the command.
func (p *pictureCommand) Run(ctx context.Context, c *console) error {
	var w, h int
	if n, err := fmt.Sscanf(p.Pixels, "%dx%d", &w, &h); n != 2 || err != nil {
		return fmt.Errorf("--pixels: %q is not a size: write width x height, such as 1000x800", p.Pixels)
	}
	view, named := picture.Named(p.View)
	if !named && p.View != "sheet" {
		return fmt.Errorf("--view: there is no view %q: take sheet, %s", p.View, strings.Join(picture.Names(), ", "))
	}
	return p.run(ctx, c, ".png", func(_ *job, path string, part compile.Part) error {
		var img image.Image
		var err error
		if named {
			img, err = picture.One(part.Mesh, view, w, h)
		} else {
			img, err = picture.Sheet(part.Mesh, w, h)
		}
		if err != nil {
			return fmt.Errorf("--pixels: %w", err)
		}
		return writePNG(path, img)
	})
}

// writePNG writes a picture, whole or not at all.
func writePNG(path string, img image.Image) error {
	return output.WriteFile(path, func(w io.Writer) error {
		return (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(w, img)
	})
}

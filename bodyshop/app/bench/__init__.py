"""The bench: a page served from this machine, on which a design's text and its car are worked on together.

The server holds the document. A `DesignDocument` is one design on the bench, shared by every tab that shows
it; the page is plain JavaScript that sends small messages and hears what became of them. Nothing here is
loaded by any other command.

How the page talks to the server. One web socket a tab, one JSON object a message, `kind` first. What the
page says is declared in `messages`. What it is told:

        text    {revision, base, splice: [start, end, text], own}   how to get from `base` to `revision`
        judged  {revision, scene, verdict, figures, problems}       what that text comes to
        moved   {step, note}, refused_drag {step, message}          what became of a movement

The drawing is a module `drawing/page/drawing.js` with `mountDrawing(root, tell)`: it fills the element
`root`, calls `tell(kind, body)` with what the hand does, and returns an object with `show(scene)`,
`moved(note)`, `refuse(message)`, `showPlace(place)` ({view, points: [[x, y, z]...], label}, one point or
both ends) and `clearPlace()`. Its Python half makes a scene of a judged car, and a new text of a handle's
movement.
"""

__all__: list[str] = []

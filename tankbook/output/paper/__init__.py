"""What is printed: labels and sheets laid out in millimetres, drawn as PDF.

Contents (`labels`) become placed shapes (`flow`, `grid`), and only `pen` draws them as PDF. Every
length is in mm from the top left corner of the page, every size of type in points. All is black:
nothing is said by colour. Layouts and wording are our own and imitate no official or agency
sticker.
"""

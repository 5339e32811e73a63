"""What the judges by OpenCascade share: points, directions, lists of shapes, and what a shape is made of."""

import numpy as np
from OCP.collections import List_TopoDS_Shape
from OCP.gp import gp_Dir, gp_Pnt
from OCP.TopExp import TopExp_Explorer


def pnt(at):
    """A point as OpenCascade has it."""
    return gp_Pnt(*map(float, at))


def towards(along):
    """A direction as OpenCascade has it."""
    return gp_Dir(*map(float, along))


def xyz(of):
    """The figures of OpenCascade's point or direction."""
    return np.array([of.X(), of.Y(), of.Z()])


def list_of(shapes):
    """Shapes as OpenCascade lists them."""
    listed = List_TopoDS_Shape()
    for shape in shapes:
        listed.Append(shape)
    return listed


def explored(shape, kind):
    """The parts of a kind that a shape is made of."""
    walk, found = TopExp_Explorer(shape, kind), []
    while walk.More():
        found.append(walk.Current())
        walk.Next()
    return found

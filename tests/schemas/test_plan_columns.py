"""Every field that a plan may have is a column, without anybody adding it."""

from schemas.plan.columns import ACCEPTED_COLUMNS, HEAD_COLUMNS, JOINT_COLUMNS, STEP_COLUMNS, Shape
from schemas.plan.model import STEP_MODELS, AcceptedModel, JointModel, PlanModel


def names(model):
    return [info.alias or name for name, info in model.model_fields.items()]


def test_each_field_of_the_models_is_a_column_in_their_order():
    assert list(dict.fromkeys(column.path[0] for column in JOINT_COLUMNS)) == names(JointModel)
    assert [column.name for column in ACCEPTED_COLUMNS] == names(AcceptedModel)
    assert [column.name for column in HEAD_COLUMNS] == [
        name for name in names(PlanModel) if name not in ("joints", "steps", "accepted")
    ]
    for word, model in STEP_MODELS.items():
        assert list(dict.fromkeys(column.path[0] for column in STEP_COLUMNS[word])) == names(model)
        assert STEP_COLUMNS[word][0].name == word


def test_fields_of_fields_are_columns_of_their_own():
    assert [column.name for column in JOINT_COLUMNS if column.path[0] == "adapter"] == [
        "adapter length", "adapter angle", "adapter corrected_by"
    ]  # fmt: skip


def test_a_column_knows_whether_it_holds_a_list_and_whether_numbers():
    known = {column.name: (column.shape, column.numeric) for column in JOINT_COLUMNS}

    assert known["fasteners"] == (Shape.ONE, True)
    assert known["grade"] == (Shape.ONE, False)
    assert known["stages"] == (Shape.LIST, True)
    assert known["wrench"] == (Shape.LIST, False)
    assert known["order"] == (Shape.EITHER, True)


def test_a_column_knows_the_words_of_its_field():
    known = {column.name: column.words for column in (*JOINT_COLUMNS, *HEAD_COLUMNS)}

    assert known["hardware"] == ("new", "reused", "new each time")
    assert known["stages"] == ("snug",)
    assert known["mirror"] == ("left/right",)
    assert known["prep"][:3] == ("dry", "oil", "anti-seize")
    assert known["adapter corrected_by"] == ("us", "wrench")
    assert known["name"] == known["fasteners"] == known["wrench"] == ()

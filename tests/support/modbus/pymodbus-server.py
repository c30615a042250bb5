"""Slaves 1 and 2 on a serial line, kept by a library that nobody of this project wrote. Argument: the port."""
import sys
from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.server import StartSerialServer
from pymodbus.transaction import ModbusRtuFramer


def slave(first):
    return ModbusSlaveContext(
        di=ModbusSequentialDataBlock(0, [1, 0, 1, 1, 0, 0, 1, 0, 1, 0]),
        co=ModbusSequentialDataBlock(0, [0] * 20),
        hr=ModbusSequentialDataBlock(0, [0x0000, 0x4148] + [0] * 18),
        ir=ModbusSequentialDataBlock(0, [first, 412, 10084, 0x4148, 0x0000, 0] + [0] * 14),
        zero_mode=True,
    )


context = ModbusServerContext(slaves={1: slave(214), 2: slave(45)}, single=False)
StartSerialServer(context=context, framer=ModbusRtuFramer, port=sys.argv[1], baudrate=19200, timeout=0.02)
